#include "finish/restep_rails.hpp"

#include "cutter/tapered.hpp"
#include "finish/assemble.hpp"
#include "finish/groups.hpp"
#include "finish/rail_levels.hpp"
#include "finish/shape.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace restep::finish {

namespace {

constexpr double um = 1000; // per mm

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
    double const own =
        resolution_of(operation_.subspan(stack_.first_step(), stack_.last_step() + 1 - stack_.first_step()));
    if (tool_ == nullptr)
      return fmt::format("tool T{} is not in the tool table: its diameter and corner radius are needed",
                         report.tool);
    if (!tool_->can_finish()) return cutter::why_not_finishing(*tool_, report.tool);
    if (stack_.grouped())
      return "the contours of its levels are not offsets of each other and are cut in groups: no order of "
             "new "
             "levels is known to be safe";
    auto surface = RailSurface::fit(in_common_, own);
    if (!surface) return surface.error();
    surface_ = std::move(*surface);
    report.fit_residual_um = um * surface_.residual();
    report.surface_bound_um = um * surface_.bound();

    cutter::FinishTarget const measure = request_.finish.value_or(cutter::FinishTarget{});
    report.before = figures_of(surface_.heights(), measure);
    report.after = report.before;
    if (double const tolerance = rail_tolerance(own); surface_.bound() > tolerance)
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
    return place(own);
  }

  LevelFigures figures_of(std::vector<double> const& z, cutter::FinishTarget const& target) const {
    RailFigures const f = measure_rail_levels(surface_, *tool_, target, z);
    LevelFigures out;
    out.levels = z.size();
    out.stepdown_min_mm = f.stepdown_min;
    out.stepdown_max_mm = f.stepdown_max;
    out.cusp_min_um = um * f.cusp_min;
    out.cusp_max_um = um * f.cusp_max;
    out.ra_um = um * f.ra_max;
    for (double const height : z)
      out.positions.push_back({surface_.mean_way(height), height});
    for (std::size_t k = 0; k < f.cusps.size(); ++k)
      out.pairs.push_back({z[k], z[k + 1], um * f.cusps[k]});
    return out;
  }

  bool reversed(std::size_t k) const { return stack_.levels[k].contours.back().reversed; }

  RailPlan plan_in_turn(cutter::FinishTarget target) const {
    cutter::StepLimits step = limits_of(request_, outcome_.report);
    RailPlan plan = plan_rail_levels(surface_, *tool_, target, step);
    if (!stack_.alternates()) return plan;
    bool const ends_differ = reversed(0) != reversed(stack_.levels.size() - 1);
    for (int round = 0; round < 50 && (plan.z.size() % 2 == 0) != ends_differ; ++round) {
      target.limit *= 0.96;
      step.max_stepdown *= 0.99;
      plan = plan_rail_levels(surface_, *tool_, target, step);
    }
    return plan;
  }

  // Heights go to the digits where that moves the contours by less than the height: on walls. Elsewhere the
  // contours stay where they belong and only the written height is rounded, which is worth half a digit times
  // the cosine of the slope. No level stands more than the largest stepdown below the one before it.
  std::vector<double> on_walls_to_digits(std::vector<double> z, double max_stepdown) const {
    double const digit = request_.resolution;
    for (std::size_t k = 1; k + 1 < z.size(); ++k) {
      double flattest = 1;
      for (Rail const& rail : surface_.rails()) {
        cutter::Meridian const& m = rail.meridian;
        flattest = std::min(flattest, -m.tangent(m.reach(0, m.at(0).y - z[k])).y);
      }
      if (flattest < std::sqrt(0.5)) continue;
      z[k] = on_digits(z[k], digit);
      if (max_stepdown > 0 && on_digits(z[k - 1], digit) - z[k] > max_stepdown + 1e-9) z[k] += digit;
    }
    return z;
  }

  std::string place(double own) {
    PassReport& report = outcome_.report;
    cutter::FinishTarget const wanted = target_of(request_, report);
    cutter::FinishTarget planned = wanted;
    cutter::StepLimits const limits = limits_of(request_, report);
    std::vector<double> z;
    bool missed = false;
    double best = std::numeric_limits<double>::infinity();
    for (int round = 0; round < 4 && best > wanted.limit; ++round) {
      RailPlan plan = plan_in_turn(planned);
      std::vector<double> digits = on_walls_to_digits(std::move(plan.z), limits.max_stepdown);
      double const got = measure_rail_levels(surface_, *tool_, wanted, digits).figure_max;
      if (got < best) {
        best = got;
        z = std::move(digits);
        missed = plan.target_missed;
      }
      if (plan.target_missed || got <= 0) break;
      planned.limit *= std::clamp(wanted.limit / got, 0.9, 0.999);
    }
    // A pass that meets the target with the least number of levels, or one more, is left alone.
    double const slack = 0.01 * wanted.limit + 0.6 * own;
    RailFigures const now = measure_rail_levels(surface_, *tool_, wanted, surface_.heights());
    if (now.figure_max <= wanted.limit + slack && now.stepdown_max <= limits.max_stepdown + 1e-6 &&
        surface_.heights().size() <= z.size() + 1)
      return "it already has the least number of levels that meets the target";

    auto steps = assembled(z);
    if (!steps) return steps.error();
    report.after = figures_of(z, wanted);
    report.status = PassStatus::restepped;
    outcome_.steps = std::move(*steps);
    std::string text = fmt::format("{} levels instead of {}, in {} sections of a surface known to {:.2f} um",
                                   report.after.levels, report.before.levels, surface_.rails().size(),
                                   um * surface_.bound());
    if (missed) text += "; the least stepdown forbids the target in places";
    return text;
  }

  tl::expected<std::vector<motion::Step>, std::string> assembled(std::vector<double> const& z) const {
    Offsets ways; // what the links take for the offset of a level
    for (Level const& level : stack_.levels)
      ways.d.push_back(surface_.mean_way(level.z));
    std::vector<PlannedLevel> planned;
    std::size_t const last = stack_.levels.size() - 1;
    planned.emplace_back(stack_.downwards() ? 0 : last);
    for (std::size_t k = 1; k + 1 < z.size(); ++k) {
      Vec2 const tip{surface_.mean_way(z[k]), on_digits(z[k], request_.resolution)};
      planned.emplace_back(
          shape_contours(surface_.contours_at(z[k]), surface_.away(), tip, request_.resolution));
    }
    planned.emplace_back(stack_.downwards() ? last : 0);
    return assemble(operation_, stack_, ways, in_cutting_order(stack_, std::move(planned)),
                    request_.resolution);
  }

  std::span<motion::Step const> operation_;
  Stack const& stack_;
  Stack const& in_common_; ///< the same in elements that all levels have
  cutter::Tool const* tool_;
  PassRequest const& request_;
  RailSurface surface_;
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
