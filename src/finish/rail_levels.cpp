#include "finish/rail_levels.hpp"

#include "cutter/cusp.hpp"
#include "cutter/marcher.hpp"
#include "cutter/roughness.hpp"
#include "geometry/in_parallel.hpp"

#include <algorithm>
#include <cmath>
#include <deque>
#include <limits>
#include <utility>

namespace restep::finish {

namespace {

// The share of the target and the largest stepdown of a march.
struct Rule {
  double share = 1;
  double stepdown = 0;
};

double along(cutter::Meridian const& meridian, double z) {
  return meridian.reach(0, meridian.at(0).y - z);
}

class RailMarch {
public:
  RailMarch(RailSurface const& surface, cutter::Tool const& tool, cutter::FinishTarget const& target,
            cutter::StepLimits const& limits)
      : top_(surface.top())
      , bottom_(surface.bottom())
      , least_(std::max(limits.min_stepdown, (top_ - bottom_) / static_cast<double>(cutter::max_levels))) {
    if (limits.max_stepdown > 0) least_ = std::min(least_, limits.max_stepdown);
    for (Rail const& rail : surface.rails())
      marchers_.emplace_back(rail.meridian, tool, target, limits);
    was_worst_.assign(marchers_.size(), false);
  }

  double height() const { return top_ - bottom_; }

  // From now on only rails that ruled a step before are asked; `check` asks the others.
  void ask_worst_only(bool only) {
    asked_.clear();
    for (std::size_t i = 0; i < marchers_.size(); ++i)
      if (!only || was_worst_[i]) asked_.push_back(i);
  }

  // Rails that exceed the share somewhere are asked from now on. True when there are none.
  bool check(std::vector<double> const& z, double share) {
    std::vector<unsigned char> over(marchers_.size(), 0);
    geometry::in_parallel(marchers_.size(), [&](std::size_t i) {
      for (std::size_t k = 0; k + 1 < z.size() && over[i] == 0; ++k)
        over[i] = excess(i, z[k], z[k + 1], share) > 1e-6 ? 1 : 0;
    });
    bool all_well = true;
    for (std::size_t i = 0; i < marchers_.size(); ++i) {
      if (over[i] == 0 || was_worst_[i]) continue;
      all_well = false;
      was_worst_[i] = true;
    }
    return all_well;
  }

  double excess(std::size_t rail, double from, double to, double share) const {
    if (from - to < 1e-12) return -1;
    cutter::Meridian const& m = marchers_[rail].meridian();
    return marchers_[rail].excess(along(m, from), along(m, to), share, 0);
  }

  // At most `steps` steps down from the top, ending early at the bottom.
  std::vector<double> march(Rule rule, std::size_t steps) {
    std::vector<double> z{top_};
    while (z.size() <= steps && z.back() > bottom_) {
      double next = next_below(z.back(), rule);
      if (next - bottom_ <= 1e-12 * height()) next = bottom_;
      z.push_back(next);
    }
    return z;
  }

  // Above 0: a march of `steps` steps does not reach the bottom within the rule.
  double last_step_excess(Rule rule, std::size_t steps) {
    std::vector<double> const z = march(rule, steps - 1);
    if (z.back() <= bottom_) return -1;
    double worst = rule.stepdown > 0 ? (z.back() - bottom_) / rule.stepdown - 1 - 1e-10 : -1;
    for (std::size_t const i : asked_)
      worst = std::max(worst, excess(i, z.back(), bottom_, rule.share));
    return worst;
  }

  std::vector<double> finished(Rule rule, std::size_t steps) {
    std::vector<double> z = march(rule, steps - 1);
    if (z.back() > bottom_) z.push_back(bottom_);
    return z;
  }

private:
  double next_below(double z, Rule rule) {
    double next = rule.stepdown > 0 ? std::max(bottom_, z - rule.stepdown) : bottom_;
    double const highest = std::max(bottom_, z - least_);
    std::size_t worst = marchers_.size();
    // The rail that ruled the last step first: it leaves little to do for the others.
    if (last_worst_ < marchers_.size()) narrow(last_worst_, z, highest, rule.share, next, worst);
    for (std::size_t const i : asked_)
      narrow(i, z, highest, rule.share, next, worst);
    if (worst < marchers_.size()) {
      was_worst_[worst] = true;
      last_worst_ = worst;
    }
    return std::min(next, highest);
  }

  void narrow(std::size_t rail, double z, double highest, double share, double& next, std::size_t& worst) {
    if (next >= highest || excess(rail, z, next, share) <= 0) return;
    worst = rail;
    double const first = z - 1e-9 * height();
    if (excess(rail, z, first, share) > 0) {
      // On a sharp edge every place leaves what its neighbours leave: on to where the next piece begins.
      cutter::Meridian const& m = marchers_[rail].meridian();
      double const end = m.at(m.starts()[m.piece_at(along(m, z)) + 1]).y;
      next = std::max(next, std::min(end, first));
      return;
    }
    next = cutter::last_within([&](double to) { return excess(rail, z, to, share); }, first, next,
                               1e-13 * height());
  }

  double top_, bottom_;
  double least_;
  std::deque<cutter::Marcher> marchers_; // stay where they are
  std::vector<std::size_t> asked_;
  std::vector<bool> was_worst_;
  std::size_t last_worst_ = std::numeric_limits<std::size_t>::max();
};

// Lowers the stepdown limit until the march just reaches the bottom, but not below the largest stepdown that
// the target rules. True when that took up the whole remainder.
bool spread_into_limited(RailMarch& march, std::vector<double> const& greedy, Rule& rule) {
  std::size_t const steps = greedy.size() - 1;
  double ruled = march.height() / static_cast<double>(2 * steps);
  bool any_limited = false;
  for (std::size_t k = 0; k + 1 < steps; ++k) {
    double const drop = greedy[k] - greedy[k + 1];
    if (drop >= rule.stepdown * (1 - 1e-9))
      any_limited = true;
    else
      ruled = std::max(ruled, drop);
  }
  if (!any_limited) return false;
  auto const over = [&](double stepdown) { return march.last_step_excess({rule.share, stepdown}, steps); };
  if (over(ruled) <= 0) {
    rule.stepdown = ruled;
    return false;
  }
  rule.stepdown = cutter::last_within(over, rule.stepdown, ruled, 1e-9 * ruled);
  return true;
}

void spread_share(RailMarch& march, std::size_t steps, Rule& rule) {
  auto const over = [&](double share) { return march.last_step_excess({share, rule.stepdown}, steps); };
  double low = std::max(0.5, 1 - 2.0 / static_cast<double>(steps));
  for (int halvings = 0; over(low) <= 0; ++halvings, low /= 2)
    if (halvings == 40) return; // nothing has a figure to lower
  rule.share = cutter::last_within(over, 1, low, 1e-8);
}

} // namespace

RailPlan plan_rail_levels(RailSurface const& surface, cutter::Tool const& tool,
                          cutter::FinishTarget const& target, cutter::StepLimits const& limits) {
  RailMarch march(surface, tool, target, limits);
  march.ask_worst_only(false);
  RailPlan plan;
  Rule rule{1, limits.max_stepdown};
  std::vector<double> const greedy = march.march(rule, cutter::max_levels - 1);
  plan.z = greedy;
  std::size_t const steps = greedy.size() - 1;
  if (greedy.back() > surface.bottom()) {
    plan.target_missed = true;
    return plan;
  }
  for (int round = 0; steps > 1 && round < 6; ++round) {
    march.ask_worst_only(true);
    rule = {1, limits.max_stepdown};
    bool const spread = rule.stepdown > 0 && spread_into_limited(march, greedy, rule);
    if (!spread) spread_share(march, steps, rule);
    plan.z = march.finished(rule, steps);
    if (march.check(plan.z, rule.share)) break;
  }
  if (!march.check(plan.z, 1)) plan.z = greedy;
  plan.target_missed =
      measure_rail_levels(surface, tool, target, plan.z).figure_max > target.limit * (1 + 1e-6);
  return plan;
}

RailFigures measure_rail_levels(RailSurface const& surface, cutter::Tool const& tool,
                                cutter::FinishTarget const& target, std::vector<double> const& z) {
  struct Pair {
    double cusp = 0, ra = 0;
  };
  std::vector<Pair> pairs(z.empty() ? 0 : z.size() - 1);
  geometry::in_parallel(pairs.size(), [&](std::size_t k) {
    for (Rail const& rail : surface.rails()) {
      Vec2 const upper = rail.meridian.at(along(rail.meridian, z[k]));
      Vec2 const lower = rail.meridian.at(along(rail.meridian, z[k + 1]));
      pairs[k].cusp = std::max(pairs[k].cusp, cutter::cusp_height(tool, rail.meridian, upper, lower));
      pairs[k].ra = std::max(pairs[k].ra, cutter::ra_between(tool, rail.meridian, upper, lower));
    }
  });
  RailFigures figures;
  figures.stepdown_min = std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < pairs.size(); ++k) {
    figures.stepdown_min = std::min(figures.stepdown_min, z[k] - z[k + 1]);
    figures.stepdown_max = std::max(figures.stepdown_max, z[k] - z[k + 1]);
    figures.cusp_max = std::max(figures.cusp_max, pairs[k].cusp);
    figures.cusps.push_back(pairs[k].cusp);
    figures.ra_max = std::max(figures.ra_max, pairs[k].ra);
  }
  // Where the stepdown limit rules, cusps are smaller and say nothing about the finish asked for.
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < pairs.size(); ++k)
    if (pairs[k].cusp > 0 && z[k] - z[k + 1] < 0.95 * figures.stepdown_max)
      least = std::min(least, pairs[k].cusp);
  figures.cusp_min = std::isfinite(least) ? least : figures.cusp_max;
  figures.figure_max = target.kind == cutter::FinishKind::ra ? figures.ra_max : figures.cusp_max;
  return figures;
}

} // namespace restep::finish
