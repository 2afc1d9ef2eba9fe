// Gives the finishing passes of the program the levels that their finish asks for.
//
//   in   levels at Z-0.1 -0.2 -0.3 ... -1.5, whatever the surface between them looks like
//   out  levels at Z-0.1 -0.102 -0.108 ... -1.5, every cusp between them as high as the target allows
//
// A constant stepdown is far too coarse where the surface is nearly flat and needlessly fine where it is
// steep. The stage keeps what may belong to a pass (from its first contour at constant height on) until
// something ends the operation, looks for stacks in it and lets finish/ re-step them; everything else goes
// through as it came.

#include "transform/restep.hpp"

#include "finish/pass.hpp"
#include "motion/time_model.hpp"
#include "proof/pass_model.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

namespace restep::transform {

namespace {

using motion::Step;

// Feed motions away from constant height after which what is being cut is no stack of levels: longer than any
// link (a helical lead-in cut into chords), shorter than memory cares about.
constexpr std::size_t longest_link = 512;
// From this many kept steps on (and at each doubling) the stage checks whether a stack is growing at all.
constexpr std::size_t first_check = 1 << 16;

class Restep final : public motion::StepSource {
public:
  Restep(motion::StepSource& upstream, Context& context)
      : upstream_(upstream)
      , context_(context) {}

  bool next(Step& step) override {
    while (at_ == out_.size()) {
      out_.clear();
      at_ = 0;
      if (ended_) return false;
      if (pull(step)) return true;
    }
    step = out_[at_++];
    return true;
  }

private:
  // Takes one step from upstream. True when it goes straight through; it is then in `step`.
  bool pull(Step& step) {
    if (!upstream_.next(step)) {
      ended_ = true;
      finish_operation();
      return false;
    }
    bool const through = take(step);
    if (through) note_tool(step);
    return through;
  }

  bool take(Step& step) {
    motion::Motion const* m = motion::motion_of(step);
    if (kept_.empty()) {
      if (m == nullptr || !finish::is_level_cut(*m)) return true;
      kept_.push_back(step);
      since_level_ = 0;
      return false;
    }
    if (ends_operation(step)) {
      finish_operation();
      note_tool(step);
      out_.push_back(step);
      return false;
    }
    kept_.push_back(step);
    if (m != nullptr && motion::is_cutting(*m))
      since_level_ = finish::is_level_cut(*m) ? 0 : since_level_ + 1;
    if (since_level_ > longest_link || (kept_.size() >= next_check_ && !stack_is_growing()))
      finish_operation();
    return false;
  }

  static bool ends_operation(Step const& step) {
    return !std::holds_alternative<motion::Motion>(step.event) &&
           !std::holds_alternative<motion::Comment>(step.event) &&
           !std::holds_alternative<motion::Layout>(step.event);
  }

  void note_tool(Step const& step) {
    if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
      tool_ = change->tool;
      changed_ = true;
    } else if (auto const* select = std::get_if<motion::ToolSelect>(&step.event);
               select != nullptr && !changed_) {
      tool_ = select->tool; // a program without M6: the tool is put in by hand
    }
  }

  cutter::Tool const* tool() const {
    // A program that names no tool is cut with the one tool there is.
    if (tool_ < 0) return context_.tools.all().size() == 1 ? &context_.tools.all().front() : nullptr;
    return context_.tools.find(tool_);
  }

  finish::StackLimits stack_limits() const {
    finish::StackLimits limits;
    if (cutter::Tool const* t = tool(); t != nullptr) limits.max_shift = std::max(t->diameter, 1.0);
    return limits;
  }

  bool stack_is_growing() {
    next_check_ = 2 * kept_.size();
    auto contours = finish::find_contours(kept_);
    if (contours.empty()) return false;
    std::size_t const last = contours.back().last_step;
    if (contours.back().last_step - contours.back().first_step > kept_.size() / 2) return true;
    auto const stacks = finish::find_stacks(std::move(contours), stack_limits());
    return !stacks.empty() && stacks.back().last_step() == last;
  }

  void finish_operation() {
    if (kept_.empty()) return;
    auto const stacks = finish::find_stacks(finish::find_contours(kept_), stack_limits());
    std::size_t done = 0;
    for (finish::Stack const& stack : stacks) {
      for (; done < stack.first_step(); ++done)
        out_.push_back(kept_[done]);
      std::size_t const end = stack.last_step() + 1;
      finish::PassOutcome outcome = one_pass(stack);
      if (outcome.report.status == finish::PassStatus::restepped) {
        for (Step& s : outcome.steps) {
          if (s.generated) s.first_in_block = s.last_in_block = true;
          out_.push_back(s);
        }
      } else {
        for (std::size_t i = done; i < end; ++i)
          out_.push_back(kept_[i]);
      }
      done = end;
      context_.passes.push_back(std::move(outcome.report));
    }
    for (; done < kept_.size(); ++done)
      out_.push_back(kept_[done]);
    kept_.clear();
    next_check_ = first_check;
    since_level_ = 0;
  }

  bool among_those_asked_for(std::size_t index) const {
    std::vector<std::size_t> const& only = context_.target.only;
    return only.empty() || std::find(only.begin(), only.end(), index) != only.end();
  }

  bool means(PassRule const& rule, finish::Stack const& stack, std::size_t index) const {
    std::uint32_t const first = kept_[stack.first_step()].place.line;
    std::uint32_t const last = kept_[stack.last_step()].place.line;
    return (rule.passes.empty() ||
            std::find(rule.passes.begin(), rule.passes.end(), index) != rule.passes.end()) &&
           (rule.tool < 0 || rule.tool == tool_) &&
           (rule.last_line == 0 || (first >= rule.first_line && last <= rule.last_line));
  }

  finish::PassRequest request_for(finish::Stack const& stack, std::size_t index) const {
    PassTarget const& target = context_.target;
    finish::PassRequest request;
    request.resolution = context_.resolution.length;
    if (!among_those_asked_for(index)) return request;
    request.named = !target.only.empty();
    request.finish = target.finish;
    request.limits = target.limits;
    for (PassRule const& rule : target.rules) {
      if (!means(rule, stack, index)) continue;
      request.named = true;
      request.finish = rule.keep ? std::nullopt : rule.finish ? rule.finish : target.finish;
      request.limits = rule.keep ? cutter::StepLimits{} : target.limits;
      if (!rule.keep && rule.limits.max_stepdown != 0) request.limits.max_stepdown = rule.limits.max_stepdown;
      if (!rule.keep && rule.limits.min_stepdown != 0) request.limits.min_stepdown = rule.limits.min_stepdown;
    }
    return request;
  }

  finish::PassOutcome one_pass(finish::Stack const& stack) {
    std::size_t const index = context_.passes.size() + 1;
    finish::PassRequest const request = request_for(stack, index);
    finish::PassOutcome outcome = finish::restep_pass(kept_, stack, tool(), std::max(tool_, 0), request);
    finish::PassReport& report = outcome.report;
    report.index = index;
    if (!among_those_asked_for(index)) report.reason = "not among the passes that were asked for";
    std::span<Step const> const before{kept_.data() + stack.first_step(),
                                       stack.last_step() + 1 - stack.first_step()};
    report.before.time_s = seconds(before);
    report.after.time_s = report.before.time_s;
    if (report.status == finish::PassStatus::restepped) {
      report.after.time_s = seconds(outcome.steps);
      prove(stack, outcome, before, request.resolution);
      context_.edits.add(report.first_line, "restep", fmt::format("pass {}: {}", index, report.reason));
      warn_of_lost_remarks(before, outcome.steps, report);
    } else if (context_.target.finish) {
      context_.findings.add(text::Severity::note, "pass-kept",
                            fmt::format("pass {} was left as it was: {}", index, report.reason), "",
                            before.front().place);
    }
    return outcome;
  }

  // Cuts the pass in the model as it was and as it is. What the new levels may add to the program's own error
  // is what the last written digit is worth along a normal, and what the levels themselves scatter about the
  // surface.
  void prove(finish::Stack const& stack, finish::PassOutcome& outcome, std::span<Step const> before,
             double resolution) {
    finish::PassReport& report = outcome.report;
    proof::IntendedSurface const surface{stack, outcome.knowledge->offsets, outcome.knowledge->fit, *tool()};
    auto const was = proof::measure_pass(before, surface);
    auto const is = proof::measure_pass(outcome.steps, surface);
    auto const fail = [&](std::string what) {
      if (!context_.proof_failure.empty()) return;
      context_.proof_failure = fmt::format("pass {} (lines {} to {}): {}", report.index, report.first_line,
                                           report.last_line, what);
    };
    if (!was || !is) return fail(is ? was.error() : is.error());
    report.gouge_um = 1000 * is->gouge.value;
    report.peak_um = 1000 * is->peak.value;
    report.written_cusp_um = 1000 * is->cusp.value;
    if (report.target_um > 0 && report.written_cusp_um > 1.05 * report.target_um)
      report.reason += fmt::format("; the written digits ({} mm) make single cusps of up to {:.2f} um",
                                   resolution, report.written_cusp_um);
    double const digits = std::sqrt(0.5) * resolution + outcome.knowledge->fit.residual + 1e-6;
    auto const at = [](proof::Spot const& s) {
      return fmt::format("X{:.3f} Y{:.3f} Z{:.3f}", s.at.x, s.at.y, s.at.z);
    };
    if (is->gouge.value > std::max(digits, was->gouge.value + 0.1 * resolution))
      return fail(fmt::format("a new level cuts {:.2f} um below the surface at {}", 1000 * is->gouge.value,
                              at(is->gouge)));
    if (is->link_gouge.value > was->link_gouge.value + 2 * digits)
      return fail(fmt::format("a link between two levels cuts {:.2f} um below the surface at {}",
                              1000 * is->link_gouge.value, at(is->link_gouge)));
    // Ra targets have no cusp of their own; the cusp that the plan promises is checked for both.
    double const promised = std::max(report.after.cusp_max_um, report.target_um) / 1000;
    if (is->cusp.value > 1.1 * promised + digits)
      return fail(fmt::format("a cusp of {:.2f} um is left at {}", 1000 * is->cusp.value, at(is->cusp)));
  }

  double seconds(std::span<Step const> steps) const {
    motion::TimeModel time(context_.machine);
    for (Step const& s : steps)
      time.add(s);
    return time.seconds();
  }

  void warn_of_lost_remarks(std::span<Step const> before, std::span<Step const> after,
                            finish::PassReport const& report) {
    auto const remarks = [](std::span<Step const> steps) {
      return std::count_if(steps.begin(), steps.end(),
                           [](Step const& s) { return std::holds_alternative<motion::Comment>(s.event); });
    };
    if (auto const lost = remarks(before) - remarks(after); lost > 0)
      context_.findings.add(
          text::Severity::note, "remarks-left-out",
          fmt::format("{} comments between the old levels of pass {} were left out: the levels they "
                      "speak of are no more",
                      lost, report.index),
          "", before.front().place);
  }

  motion::StepSource& upstream_;
  Context& context_;
  std::vector<Step> kept_; ///< from the first contour at constant height on
  std::vector<Step> out_;
  std::size_t at_ = 0;
  std::size_t since_level_ = 0;
  std::size_t next_check_ = first_check;
  int tool_ = -1;
  bool changed_ = false;
  bool ended_ = false;
};

} // namespace

std::unique_ptr<motion::StepSource> make_restep(motion::StepSource& upstream, Context& context) {
  return std::make_unique<Restep>(upstream, context);
}

} // namespace restep::transform
