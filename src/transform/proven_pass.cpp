#include "transform/proven_pass.hpp"

#include "finish/place_levels.hpp"
#include "geometry/constants.hpp"
#include "proof/pass_model.hpp"
#include "transform/prove_rails.hpp"
#include "transform/prove_region.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

namespace restep::transform {

namespace {

using finish::PassOutcome;
using finish::PassReport;
using finish::PassRequest;
using motion::Step;

using geometry::um;

// Levels stand this many digits apart at least, or they are not read as a pass.
constexpr double few_digits = 3;
// From one target to the next in the search for one that the digits bear.
constexpr double finer = 1.3;

class Proving {
public:
  Proving(std::span<Step const> operation, finish::Stack const& stack, cutter::Tool const* tool,
          int tool_number, PassRequest const& request,
          std::function<void(std::vector<Step>&)> const& before_proof)
      : operation_(operation)
      , before_(operation.subspan(stack.first_step(), stack.last_step() + 1 - stack.first_step()))
      , stack_(stack)
      , tool_(tool)
      , tool_number_(tool_number)
      , request_(request)
      , before_proof_(before_proof) {}

  ProvenPass run() {
    Attempt first = attempt(request_);
    if (too_fine(first)) return coarser(std::move(first));
    admit_digits(first);
    judge(first);
    // Nothing but a sharp edge lets the model take back a pass that was measured.
    bool const edge = first.measure && first.outcome.report.status != finish::PassStatus::restepped;
    if (edge)
      if (auto again = with_levels_at_edges()) return std::move(*again);
    return {std::move(first.outcome), std::move(first.trouble)};
  }

private:
  struct Attempt {
    PassOutcome outcome;
    std::optional<proof::PassMeasure> measure{}; // where it was re-stepped, but not on rails
    std::string trouble{};
  };

  Attempt attempt(PassRequest const& request) const {
    Attempt a{finish::restep_pass(operation_, stack_, tool_, tool_number_, request)};
    if (a.outcome.report.status != finish::PassStatus::restepped) return a;
    if (before_proof_) before_proof_(a.outcome.steps);
    if (a.outcome.rails) {
      a.trouble = prove_rails(before_, a.outcome, *tool_, request.resolution);
      PassReport const& report = a.outcome.report;
      if (a.trouble.empty())
        a.trouble = region_trouble(a.outcome, (report.before.cusp_max_um + report.surface_bound_um) / um +
                                                  request.resolution);
      return a;
    }
    auto measured = measure(a.outcome.steps, a.outcome);
    if (measured)
      a.measure = *measured;
    else
      a.trouble = measured.error();
    return a;
  }

  tl::expected<proof::PassMeasure, std::string> measure(std::span<Step const> steps,
                                                        PassOutcome const& outcome) const {
    return proof::measure_pass(steps, {stack_, outcome.knowledge->offsets, outcome.knowledge->fit, *tool_});
  }

  // The written cusps of a pass that was planned for a cusp are above what was asked for, as far as is
  // printed.
  static bool falls_short(Attempt const& a, PassRequest const& request) {
    constexpr double printed = 1.005;
    return a.measure && request.finish && request.finish->kind != cutter::FinishKind::ra &&
           a.measure->cusp.value > printed * request.finish->limit;
  }

  // The levels fall together on the digits that are written, or so nearly that they are not read as a pass
  // any more.
  bool too_fine(Attempt const& a) const {
    if (a.outcome.too_fine) return true;
    if (a.outcome.report.status != finish::PassStatus::restepped || a.outcome.rails || a.measure)
      return false;
    return least_apart(a.outcome.report.after.positions) < few_digits * request_.resolution;
  }

  // Down or out, mm, between neighbours.
  static double least_apart(std::vector<geometry::Vec2> const& tips) {
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t k = 1; k < tips.size(); ++k) {
      double const out = tips[k].x - tips[k - 1].x;
      double const down = tips[k - 1].y - tips[k].y;
      least = std::min(least, std::min(down, out > 0 ? out : down));
    }
    return least;
  }

  // The program's own levels stand as close as the digits bear, and leave what a pass for about this target
  // would: what was written for the finest target that they bear is not told well enough by its digits to do
  // better.
  bool at_the_digits(PassReport const& report, double meant_um) const {
    return least_apart(report.before.positions) < 1.3 * few_digits * request_.resolution &&
           report.before.cusp_max_um <= finer * finer * (1 + finish::written_slack) * meant_um;
  }

  // The finest target that the digits bear, where they do not bear the one asked for.
  ProvenPass coarser(Attempt first) const {
    PassRequest asked = request_;
    for (int round = 0; asked.finish && round < 12; ++round) {
      asked.finish->limit *= finer;
      Attempt a = attempt(asked);
      if (too_fine(a)) continue;
      judge(a);
      PassReport& report = a.outcome.report;
      report.target_um = um * request_.finish->limit;
      std::string const digits =
          fmt::format("the digits of its coordinates ({} mm) do not bear levels for {:.2f} um",
                      request_.resolution, report.target_um);
      double const meant = um * asked.finish->limit;
      if (at_the_digits(report, meant)) {
        keep(a.outcome, fmt::format("{}, and its own stand as close as they bear", digits));
        return {std::move(a.outcome), {}};
      }
      report.reason =
          report.status == finish::PassStatus::restepped
              ? fmt::format("{}; {}, these are for {:.2f} um", report.reason, digits, meant)
              : fmt::format("{}; for {:.2f} um, which they bear: {}", digits, meant, report.reason);
      return {std::move(a.outcome), std::move(a.trouble)};
    }
    if (first.outcome.report.status == finish::PassStatus::restepped)
      keep(first.outcome,
           fmt::format("the digits of its coordinates ({} mm) do not bear the levels asked for",
                       request_.resolution));
    return {std::move(first.outcome), {}};
  }

  void judge(Attempt& a) const {
    if (a.measure && a.trouble.empty()) a.trouble = verdict(a.outcome, *a.measure);
  }

  // What is told is rounded up: the levels that are written meet it.
  void admit_digits(Attempt& a) const {
    if (!falls_short(a, request_)) return;
    a.outcome.report.reason +=
        fmt::format("; the digits of its coordinates do not hold {:.2f} um; they hold {:.2f} um",
                    um * request_.finish->limit, std::ceil(100 * um * a.measure->cusp.value - 1e-6) / 100);
  }

  // The same pass with levels where the tool begins and ends to roll about sharp edges: a digit is worth much
  // where a level stands a little beside such a place. Nothing where that does not mend it either.
  std::optional<ProvenPass> with_levels_at_edges() const {
    PassRequest asked = request_;
    asked.levels_at_edges = true;
    Attempt a = attempt(asked);
    admit_digits(a);
    judge(a);
    if (!a.measure || !a.trouble.empty() || a.outcome.report.status != finish::PassStatus::restepped)
      return std::nullopt;
    a.outcome.report.reason += "; with levels where the tool begins and ends to go round a sharp edge";
    return ProvenPass{std::move(a.outcome), {}};
  }

  // Takes new levels back: the pass stays as the program has it.
  static void keep(PassOutcome& outcome, std::string why) {
    finish::keep_own(outcome.report, std::move(why));
    outcome.steps.clear();
  }

  // What the model has against the pass; empty when nothing.
  std::string verdict(PassOutcome& outcome, proof::PassMeasure const& is) const {
    auto const was = measure(before_, outcome);
    if (!was) return was.error();
    PassReport& report = outcome.report;
    report.gouge_um = um * is.gouge.value;
    report.peak_um = um * is.peak.value;
    report.written_cusp_um = um * is.cusp.value;
    double const resolution = request_.resolution;
    double const digits = std::sqrt(0.5) * resolution + outcome.knowledge->fit.residual + 1e-6;
    // The program's own levels lie off the surface that was told from all of them by their own digits.
    double const own = was->gouge.value;
    // An element's end may stand half a digit off in X and in Y, and its height half a digit on a slope.
    if (is.gouge.value > own + 1.25 * digits)
      return fmt::format("a new level cuts {:.2f} um below the surface at {}", um * is.gouge.value,
                         place_of(is.gouge));
    if (is.link_gouge.value > was->link_gouge.value + 2 * digits) {
      if (was->link_gouge.value <= 2 * digits + own)
        return fmt::format("a link between two levels cuts {:.2f} um below the surface at {}",
                           um * is.link_gouge.value, place_of(is.link_gouge));
      keep(outcome,
           fmt::format("its own moves from level to level cut {:.2f} um below the surface at {}: those "
                       "of new levels would cut deeper",
                       um * was->link_gouge.value, place_of(was->link_gouge)));
      return {};
    }
    // Chords may be as coarse as the program's own; between two of its levels they may stretch a little.
    if (is.sagitta.value > 1.1 * was->sagitta.value + digits)
      return fmt::format("a chord stands {:.2f} um off its curve at {}, those of the program {:.2f} um",
                         um * is.sagitta.value, place_of(is.sagitta), um * was->sagitta.value);
    // Ra targets have no cusp of their own; the cusp that the plan promises is checked for both.
    double const promised = std::max(report.after.cusp_max_um, report.target_um) / um;
    if (is.cusp.value > 1.1 * promised + digits + 2 * own) {
      if (is.cusp.value > 1.05 * outcome.digits_cusp)
        return fmt::format("a cusp of {:.2f} um is left at {}", um * is.cusp.value, place_of(is.cusp));
      keep(outcome, fmt::format("the digits of its coordinates would make a cusp of {:.2f} um at {} of what "
                                "was planned to leave {:.2f} um: it goes round a sharp edge there",
                                um * is.cusp.value, place_of(is.cusp), report.after.cusp_max_um));
      return {};
    }
    return region_trouble(outcome, was->peak.value + was->sagitta.value + digits);
  }

  // `near` mm: how far the program's own cut may be off the surface.
  std::string region_trouble(PassOutcome const& outcome, double near) const {
    OwnPass own = own_pass(stack_);
    own.near = near;
    own.stepdown = outcome.report.before.stepdown_max_mm;
    return prove_region(own_path(operation_, stack_.last_step()), outcome.steps, *tool_, own);
  }

  std::span<Step const> operation_;
  std::span<Step const> before_;
  finish::Stack const& stack_;
  cutter::Tool const* tool_;
  int tool_number_;
  PassRequest const& request_;
  std::function<void(std::vector<Step>&)> const& before_proof_;
};

} // namespace

ProvenPass restep_and_prove(std::span<Step const> operation, finish::Stack const& stack,
                            cutter::Tool const* tool, int tool_number, PassRequest const& request,
                            std::function<void(std::vector<Step>&)> const& before_proof) {
  return Proving(operation, stack, tool, tool_number, request, before_proof).run();
}

} // namespace restep::transform
