#include "finish/restep_rails.hpp"

#include "cutter/tapered.hpp"
#include "finish/assemble.hpp"
#include "finish/groups.hpp"
#include "finish/rail_levels.hpp"
#include "finish/rail_rows.hpp"
#include "finish/shape.hpp"
#include "geometry/constants.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace restep::finish {

namespace {

using geometry::um;

class RailWork {
public:
  RailWork(std::span<motion::Step const> operation, Stack const& stack, Stack const& in_common,
           cutter::Tool const* tool, int tool_number, PassRequest const& request)
      : operation_(operation)
      , stack_(stack)
      , in_common_(in_common)
      , tool_(tool)
      , request_(request) {
    PassReport& r = outcome_.report;
    r = begun_report(operation.subspan(stack.first_step(), stack.last_step() + 1 - stack.first_step()), tool,
                     tool_number);
    r.shape =
        stack.levels.front().contours.front().closed ? "closed contours on rails" : "open contours on rails";
    r.before.levels = stack.levels.size();
    r.after = r.before;
  }

  PassOutcome run() {
    outcome_.report.reason = attempt();
    outcome_.first_step = stack_.first_step();
    outcome_.last_step = stack_.last_step();
    if (outcome_.report.status != PassStatus::restepped) return std::move(outcome_);
    outcome_.rails = std::move(surface_);
    if (request_.extend)
      outcome_.report.not_extended =
          "its levels are no offsets of each other, and they do not tell what lies above the first";
    return std::move(outcome_);
  }

private:
  std::string attempt() {
    PassReport& report = outcome_.report;
    own_digit_ =
        resolution_of(operation_.subspan(stack_.first_step(), stack_.last_step() + 1 - stack_.first_step()));
    if (tool_ == nullptr)
      return fmt::format("tool T{} is not in the tool table: its diameter and corner radius are needed",
                         report.tool);
    if (!tool_->can_finish()) return cutter::why_not_finishing(*tool_, report.tool);
    if (std::string why = why_no_order(stack_); !why.empty()) return why;
    auto surface = RailSurface::fit(in_common_, own_digit_);
    if (!surface) return surface.error();
    surface_ = std::move(*surface);
    report.fit_residual_um = um * surface_.residual();
    report.surface_bound_um = um * surface_.bound();

    if (std::string trouble = measure_own(); !trouble.empty()) return trouble;
    if (double const tolerance = rail_tolerance(own_digit_); surface_.bound() > tolerance)
      return fmt::format("the surface between its levels is known to {:.2f} um only, where its digits allow "
                         "{:.2f} um: its levels are too far apart or its contours have too few points",
                         um * surface_.bound(), um * tolerance);
    if (std::string trouble = cutter::beyond_side(*tool_, surface_.steepest()); !trouble.empty())
      return trouble;
    if (!request_.finish && request_.limits.max_stepdown == 0) return "no finish was asked for";
    report.target_um = request_.finish ? um * request_.finish->limit : 0;
    if (report.before.cusp_max_um == 0 &&
        (request_.limits.max_stepdown == 0 || (request_.finish && !request_.named)))
      return "its levels leave no cusp";
    return place();
  }

  // Index in cutting order of the k-th level from the top.
  std::size_t cutting_index(std::size_t k) const {
    return stack_.downwards() ? k : stack_.levels.size() - 1 - k;
  }

  // The program's levels as they would be written.
  std::string measure_own() {
    for (std::size_t k = 0; k < stack_.levels.size(); ++k) {
      Level const& level = stack_.levels[cutting_index(k)];
      RailLevel own;
      own.exact = level.z;
      own.z = on_digits(level.z, request_.resolution);
      own.own = k;
      auto row = row_across(surface_, contours_on_digits(level.contours, request_.resolution), own.z);
      if (!row) return row.error();
      own.row = std::move(*row);
      own_.push_back(std::move(own));
    }
    now_ = measure_rail_levels(surface_, *tool_, request_.finish.value_or(cutter::FinishTarget{}), own_);
    outcome_.report.before = figures_of(own_, now_);
    outcome_.report.after = outcome_.report.before;
    return {};
  }

  LevelFigures figures_of(std::vector<RailLevel> const& levels, RailFigures const& f) const {
    LevelFigures out;
    out.levels = levels.size();
    out.stepdown_min_mm = f.stepdown_min;
    out.stepdown_max_mm = f.stepdown_max;
    out.cusp_min_um = um * f.cusp_min;
    out.cusp_max_um = um * f.cusp_max;
    out.ra_um = um * f.ra_max;
    for (RailLevel const& level : levels)
      out.positions.push_back({surface_.mean_way(level.exact), level.z});
    for (std::size_t k = 0; k < f.cusps.size(); ++k)
      out.pairs.push_back({levels[k].z, levels[k + 1].z, um * f.cusps[k]});
    return out;
  }

  // No plan moves the highest and the lowest level, and in groups the first and the last that are cut.
  bool stays(std::size_t k) const {
    return k == 0 || k + 1 == own_.size() ||
           (stack_.grouped() && (k == stack_.groups.front().front() || k == stack_.groups.back().back()));
  }

  std::vector<RailLevel> staying() const {
    std::vector<RailLevel> stay;
    for (std::size_t k = 0; k < own_.size(); ++k)
      if (stays(k)) stay.push_back(own_[k]);
    return stay;
  }

  tl::expected<RailPlan, std::string> plan_for(cutter::FinishTarget const& target) const {
    return plan_for(target, limits_of(request_, outcome_.report));
  }

  tl::expected<RailPlan, std::string> plan_for(cutter::FinishTarget const& target,
                                               cutter::StepLimits const& limits) const {
    RailRequest asked{target, limits, request_.resolution, std::nullopt};
    if (stack_.alternates()) asked.even = stack_.levels.front().turned() != stack_.levels.back().turned();
    return plan_rail_levels(surface_, *tool_, asked, staying());
  }

  // The plan for the target; where the digits do not hold it, for about the finest that they hold. `planned`
  // becomes what the plan is for.
  tl::expected<RailPlan, std::string> plan_on_digits(cutter::FinishTarget& planned) const {
    constexpr int coarser = 5;
    constexpr int finer = 4;
    constexpr double close = 1.08;
    double const wanted = planned.limit;
    auto const holds = [](RailPlan const& plan, double limit) {
      return plan.least_forbids || plan.figures.figure_between_new <= 1.001 * limit;
    };
    double failed = 0;
    auto plan = plan_for(planned);
    for (int round = 0; plan && round < coarser && !holds(*plan, planned.limit); ++round) {
      failed = planned.limit;
      planned.limit = std::max(plan->figures.figure_between_new, 1.05 * planned.limit);
      plan = plan_for(planned);
    }
    for (int round = 0; plan && failed > 0 && round < finer && planned.limit > close * failed; ++round) {
      cutter::FinishTarget between = planned;
      between.limit = std::sqrt(failed * planned.limit);
      auto again = plan_for(between);
      if (again && holds(*again, between.limit)) {
        plan = std::move(again);
        planned = between;
      } else {
        failed = between.limit;
      }
    }
    if (!plan || plan->least_forbids) return plan;
    double const got = plan->figures.figure_between_new;
    planned.limit =
        std::max(wanted, got > planned.limit ? got : std::min(planned.limit, plan->figures.figure_max));
    return plan;
  }

  std::string place() {
    PassReport& report = outcome_.report;
    cutter::FinishTarget const wanted = target_of(request_, report);
    cutter::FinishTarget planned = wanted;
    auto const plan = plan_on_digits(planned);
    if (!plan) return plan.error();
    if (std::string why = stays_for(wanted, planned, *plan); !why.empty()) return why;
    auto steps = assembled(plan->levels);
    if (!steps) return steps.error();
    report.after = figures_of(plan->levels, plan->figures);
    report.status = PassStatus::restepped;
    outcome_.steps = std::move(*steps);
    constant_stepdown();
    return done_in_words(*plan, wanted, planned);
  }

  // A pass that meets the target with the least number of levels, or a few more, is left alone. Beside the
  // levels that stay its cusps may be what those of the plan are.
  std::string stays_for(cutter::FinishTarget const& wanted, cutter::FinishTarget const& planned,
                        RailPlan const& plan) const {
    // Told again from its levels the surface is another one by what their digits are worth.
    double const limit = 1.05 * planned.limit + 0.6 * own_digit_;
    double const beside_fixed = std::max(limit, plan.figures.figure_max);
    for (std::size_t k = 0; k < now_.figures.size(); ++k)
      if (now_.figures[k] > (stays(k) || stays(k + 1) ? beside_fixed : limit)) return {};
    std::size_t const few = stack_.alternates() ? 4 : 3;
    if (now_.stepdown_max > limits_of(request_, outcome_.report).max_stepdown + 1e-6 ||
        own_.size() > plan.levels.size() + few)
      return {};
    if (planned.limit > 1.001 * wanted.limit)
      return fmt::format(
          "the digits of its coordinates ({} mm) do not hold {:.2f} um, and its own levels leave "
          "no more than they hold, {:.2f} um",
          request_.resolution, um * wanted.limit, um * planned.limit);
    return "it already has the least number of levels that meets the target" + held_back(planned);
  }

  std::string held_back(cutter::FinishTarget const& planned) const {
    if (!bound_by_own_stepdown(request_)) return {};
    auto const plan = plan_for(planned, {0, request_.limits.min_stepdown});
    if (!plan) return {};
    return held_back_in_words(outcome_.report, own_.size(), plan->levels.size(), "levels");
  }

  void constant_stepdown() {
    std::vector<cutter::Meridian const*> meridians;
    for (Rail const& rail : surface_.rails())
      meridians.push_back(&rail.meridian);
    find_constant(outcome_.report, meridians, *tool_, request_);
  }

  std::string done_in_words(RailPlan const& plan, cutter::FinishTarget const& wanted,
                            cutter::FinishTarget const& planned) const {
    std::string text =
        fmt::format("{} levels instead of {}, in {} sections of a surface known to {:.2f} um",
                    plan.levels.size(), own_.size(), surface_.rails().size(), um * surface_.bound());
    text += constant_in_words(outcome_.report);
    text += said_of_groups(stack_, {}, outcome_.report.after.cusp_min_um, um * planned.limit);
    if (plan.least_forbids) text += "; the least stepdown forbids the target in places";
    if (planned.limit > 1.001 * wanted.limit)
      text += fmt::format(
          "; the digits of its coordinates ({} mm) do not hold {:.2f} um, these are for {:.2f} um",
          request_.resolution, um * wanted.limit, um * planned.limit);
    if (!plan.least_forbids && plan.figures.figure_max > 1.01 * planned.limit)
      text += fmt::format("; beside the levels that stay as they are, with the program's own digits, single "
                          "cusps reach {:.2f} um",
                          um * plan.figures.figure_max);
    return text;
  }

  tl::expected<std::vector<motion::Step>, std::string> assembled(std::vector<RailLevel> const& levels) const {
    Offsets ways; // what the links take for the offset of a level
    for (Level const& level : stack_.levels)
      ways.d.push_back(surface_.mean_way(level.z));
    std::vector<PlannedLevel> planned;
    for (RailLevel const& level : levels)
      if (level.own)
        planned.emplace_back(cutting_index(*level.own));
      else
        planned.emplace_back(level.shaped);
    return assemble(operation_, stack_, ways, in_cutting_order(stack_, std::move(planned)),
                    request_.resolution);
  }

  std::span<motion::Step const> operation_;
  Stack const& stack_;
  Stack const& in_common_; ///< the same in elements that all levels have
  cutter::Tool const* tool_;
  PassRequest const& request_;
  RailSurface surface_;
  double own_digit_ = 0.001;   ///< mm, of the program
  std::vector<RailLevel> own_; ///< from the top down
  RailFigures now_;            ///< theirs
  PassOutcome outcome_;
};

} // namespace

double rail_tolerance(double resolution) {
  return std::max(3 * resolution, 0.001);
}

PassOutcome restep_by_rails(std::span<motion::Step const> operation, Stack const& stack,
                            Stack const& in_common, cutter::Tool const* tool, int tool_number,
                            PassRequest const& request) {
  return RailWork(operation, stack, in_common, tool, tool_number, request).run();
}

} // namespace restep::finish
