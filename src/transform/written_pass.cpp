#include "transform/written_pass.hpp"

#include "finish/pass.hpp"
#include "finish/raster.hpp"
#include "finish/rising_spiral.hpp"
#include "finish/spiral.hpp"
#include "finish/wall_side.hpp"
#include "motion/backwards.hpp"
#include "transform/pass_notes.hpp"
#include "transform/pass_request.hpp"
#include "transform/pass_time.hpp"
#include "transform/prove_raster.hpp"
#include "transform/prove_spiral.hpp"
#include "transform/proven_pass.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <initializer_list>
#include <string>
#include <utility>
#include <variant>

namespace restep::transform {

namespace {

using motion::Step;

bool is_restepped(finish::PassReport const& report) {
  return report.status == finish::PassStatus::restepped;
}

class PassWriter {
public:
  PassWriter(Context& context, PassPlace const& place)
      : context_(context)
      , place_(place)
      , operation_(place.operation)
      , tool_(place.tool.tool())
      , tool_number_(std::max(place.tool.number(), 0))
      , index_(context.passes.size() + 1) {}

  WrittenPass write(finish::Stack const& stack) const {
    finish::PassRequest const request = request_for(own_steps(stack.first_step(), stack.last_step()));
    auto [outcome, trouble] =
        restep_and_prove(operation_, stack, tool_, tool_number_, request, context_.before_proof);
    bool const own = !is_restepped(outcome.report);
    std::size_t const first = own ? stack.first_step() : outcome.first_step;
    std::size_t const last = own ? stack.last_step() : outcome.last_step;
    return settled(first, last, request, outcome.report, std::move(outcome.steps), trouble);
  }

  WrittenPass write(finish::SpiralPass const& pass) const {
    std::span<Step const> const before = own_steps(pass.first_step, pass.last_step);
    finish::PassRequest const request = request_for(before);
    finish::SpiralOutcome outcome = finish::restep_spiral(operation_, pass, tool_, tool_number_, request);
    prove(before, pass, outcome, request);
    return settled(pass.first_step, pass.last_step, request, outcome.report, std::move(outcome.steps), {});
  }

  WrittenPass write(finish::RisingSpiral const& pass) const {
    finish::PassRequest const request = request_for(own_steps(pass.first_step, pass.last_step));
    std::vector<Step> const run = motion::backwards(operation_.subspan(pass.begin, pass.end - pass.begin));
    finish::SpiralOutcome outcome = finish::restep_rising(run, pass, tool_, tool_number_, request);
    finish::SpiralPass const& falling = pass.falling;
    prove(std::span(run).subspan(falling.first_step, falling.last_step + 1 - falling.first_step), falling,
          outcome, request);
    return settled(pass.first_step, pass.last_step, request, outcome.report, motion::backwards(outcome.steps),
                   {});
  }

  WrittenPass write(finish::RasterPass const& pass) const {
    std::span<Step const> const before = own_steps(pass.first_step(), pass.last_step());
    finish::PassRequest const request = request_for(before);
    finish::RasterOutcome outcome;
    std::string trouble;
    // Lines that end where knowledge of the surface ends may not stand the proof; whole strips then must.
    for (bool const whole_strips : {false, true}) {
      outcome = finish::restep_raster(operation_, pass, tool_, tool_number_, request, whole_strips);
      bool const restepped = is_restepped(outcome.report);
      if (restepped && context_.before_proof) context_.before_proof(outcome.steps);
      trouble = restepped ? prove_raster(before, outcome, *tool_, request.resolution) : "";
      if (!request.finish || (restepped && trouble.empty())) break;
    }
    return settled(pass.first_step(), pass.last_step(), request, outcome.report, std::move(outcome.steps),
                   trouble);
  }

private:
  Context& context_;
  PassPlace const& place_;
  std::span<Step const> operation_;
  cutter::Tool const* tool_; ///< null when it is not known
  int tool_number_;
  std::size_t index_; ///< of the pass, from 1

  std::span<Step const> own_steps(std::size_t first, std::size_t last) const {
    return operation_.subspan(first, last + 1 - first);
  }

  finish::PassRequest request_for(std::span<Step const> pass) const {
    finish::PassRequest request = transform::request_for(context_.target, pass, index_, place_.tool.number());
    request.resolution = context_.resolution.length;
    request.free_from = place_.free_from;
    request.free_to = place_.free_to;
    return request;
  }

  /// One turn tells the contour, and short chords tell its offsets badly: turns that cannot be shown to be
  /// right are not made.
  void prove(std::span<Step const> before, finish::SpiralPass const& pass, finish::SpiralOutcome& outcome,
             finish::PassRequest const& request) const {
    if (!is_restepped(outcome.report)) return;
    std::string const trouble = prove_spiral(before, *pass.spiral, outcome, *tool_, request.resolution);
    if (!trouble.empty()) finish::keep_own(outcome.report, "new turns would not be right: " + trouble);
  }

  /// The new steps in place of those from `first` to `last`, or these themselves, when the report is complete
  /// and stands among the others; `trouble` is what the pass's proof found.
  WrittenPass settled(std::size_t first, std::size_t last, finish::PassRequest const& request,
                      finish::PassReport& report, std::vector<Step> steps, std::string const& trouble) const {
    std::span<Step const> const before = own_steps(first, last);
    complete(report, request, before, steps, trouble);
    if (!is_restepped(report)) steps.assign(before.begin(), before.end());
    context_.passes.push_back(std::move(report));
    return {first, last, std::move(steps)};
  }

  /// What every pass's report owes: its number, its times, and what the user is told.
  void complete(finish::PassReport& report, finish::PassRequest const& request, std::span<Step const> before,
                std::span<Step const> after, std::string const& trouble) const {
    report.index = index_;
    if (request.finish) report.target_text = request.finish->text;
    report.target_from = asked_by(request);
    if (request.keep) report.reason = fmt::format("its own target keeps it ({})", request.said_by);
    if (!among_those_asked_for(context_.target, index_))
      report.reason = "not among the passes that were asked for";
    if (has_inverse_time_feeds(before))
      report.reason = "its feeds are inverse time (G93): each belongs to the length of its own block";
    take_run(before, {&report.before, &report.after});
    if (is_restepped(report)) {
      take_run(after, {&report.after});
      if (report.after.levels < report.before.levels && report.after.time_s < report.before.time_s)
        report.reason += fmt::format("; saves {:.0f} s", report.before.time_s - report.after.time_s);
      if (!trouble.empty()) fail(report, trouble);
      context_.edits.add(report.first_line, "restep", fmt::format("pass {}: {}", index_, report.reason));
      note_lost_remarks(context_, report, before, after);
    } else if (context_.target.finish) {
      note_kept(context_, report, before.front().place);
    }
    note_extension(context_, report);
  }

  void take_run(std::span<Step const> steps, std::initializer_list<finish::LevelFigures*> all) const {
    PassRun const run = as_run(steps, place_.speed, place_.tool.number(), context_);
    for (finish::LevelFigures* figures : all) {
      figures->time_s = run.seconds;
      figures->spindle_rpm = run.rpm;
      figures->feed_max_mm_min = run.feed_max;
    }
  }

  void fail(finish::PassReport const& report, std::string const& what) const {
    if (!context_.proof_failure.empty()) return;
    context_.proof_failure =
        fmt::format("pass {} (lines {} to {}): {}", report.index, report.first_line, report.last_line, what);
  }
};

} // namespace

WrittenPass write_pass(Context& context, PassPlace const& place, FoundPass const& found) {
  std::visit([&](auto const& pass) { finish::mark_wall(place.operation, pass); }, found.pass);
  return std::visit([&](auto const& pass) { return PassWriter(context, place).write(pass); }, found.pass);
}

} // namespace restep::transform
