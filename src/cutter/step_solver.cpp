#include "cutter/step_solver.hpp"

#include "cutter/marcher.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace restep::cutter {

namespace {

/// Parameters that rule a march: the target and the allowed share of the bottom are scaled by `share`, the
/// stepdown limit is `stepdown`.
struct Rule {
  double share = 1;
  double stepdown = 0;
};

/// Of the share of the target and of the stepdown limit, relative: finer than any digit of a program.
constexpr double outer_resolution = 1e-10;

/// How well a march of `steps` steps does: above 0 it fails to reach the end within the rule, otherwise it
/// has room. Continuous where the march is: the excess of the last step over the rule.
double last_step_excess(Marcher const& marcher, Rule rule, std::size_t steps) {
  std::vector<double> const s = marcher.march(rule.share, rule.stepdown, steps - 1);
  return marcher.excess_to_end(s.back(), rule.share, rule.stepdown);
}

std::vector<double> finished(Marcher const& marcher, Rule rule, std::size_t steps) {
  std::vector<double> s = marcher.march(rule.share, rule.stepdown, steps - 1);
  double const length = marcher.meridian().length();
  if (s.back() < length) s.push_back(length);
  return s;
}

double drop_between(Meridian const& meridian, double s, double e) {
  return meridian.at(s).y - meridian.at(e).y;
}

/// The share of the target, at most `high`, at which a march of `steps` steps just reaches the end.
double least_share(Marcher const& marcher, double stepdown, std::size_t steps, double high) {
  auto const excess = [&](double share) { return last_step_excess(marcher, {share, stepdown}, steps); };
  // Steps grow like the figure (edges of a stair) to its square root (arcs), so one step in `steps` is worth
  // at most two of `steps` of the figure; halve from there until the march falls short.
  double low = high * std::max(0.5, 1 - 2.0 / static_cast<double>(steps));
  for (int halvings = 0; excess(low) <= 0; ++halvings, low /= 2)
    if (halvings == 60) return high; // nothing here has a figure to lower
  return last_within(excess, high, low, outer_resolution * high);
}

/// Lower the stepdown limit until the march just reaches the end, but not below the largest stepdown of the
/// steps that the target rules. Returns true when that took up the whole remainder.
bool spread_into_limited(Marcher const& marcher, std::vector<double> const& greedy, Rule& rule) {
  Meridian const& meridian = marcher.meridian();
  std::size_t const steps = greedy.size() - 1;
  double ruled = 0; // largest stepdown that the target rules
  bool any_limited = false;
  for (std::size_t i = 0; i + 1 < steps; ++i) {
    double const drop = drop_between(meridian, greedy[i], greedy[i + 1]);
    if (drop >= rule.stepdown * (1 - 1e-9))
      any_limited = true;
    else
      ruled = std::max(ruled, drop);
  }
  if (!any_limited) return false;
  double const height = drop_between(meridian, 0, meridian.length());
  double const low = std::max(ruled, height / static_cast<double>(steps) * 0.5);
  auto const excess = [&](double stepdown) {
    return last_step_excess(marcher, {rule.share, stepdown}, steps);
  };
  if (excess(low) <= 0) {
    rule.stepdown = low;
    return false;
  }
  rule.stepdown = last_within(excess, rule.stepdown, low, outer_resolution * low);
  return true;
}

/// While the last step falls below the least stepdown, leave out the level before it, as far as the stepdown
/// limit allows. A last step along a floor has no stepdown that could be too small.
void join_short_last(Marcher const& marcher, double stepdown, std::vector<double>& s) {
  Meridian const& meridian = marcher.meridian();
  while (s.size() > 2) {
    double const last = drop_between(meridian, s[s.size() - 2], s.back());
    double const joined = drop_between(meridian, s[s.size() - 3], s.back());
    if (last <= 1e-9 || last >= marcher.min_stepdown() * (1 - 1e-9)) return;
    if (stepdown > 0 && joined > stepdown * (1 + target_slack)) return;
    s.erase(s.end() - 2);
  }
}

LevelPlan measured(Marcher const& marcher, std::vector<double> s, double stepdown) {
  LevelPlan plan;
  plan.s = std::move(s);
  double const allowed = marcher.limit() * (1 + 2 * target_slack);
  bool first_ruled = true;
  for (std::size_t i = 0; i + 1 < plan.s.size(); ++i) {
    double const figure = marcher.figure(plan.s[i], plan.s[i + 1]);
    double const drop = drop_between(marcher.meridian(), plan.s[i], plan.s[i + 1]);
    plan.figure_max = std::max(plan.figure_max, figure);
    if (figure > allowed || marcher.bottom(plan.s[i], plan.s[i + 1]) > 1 + target_slack)
      plan.target_missed = true;
    if (stepdown > 0 && drop >= stepdown * (1 - 1e-6)) {
      ++plan.limited;
    } else if (figure > 0) {
      plan.figure_min = first_ruled ? figure : std::min(plan.figure_min, figure);
      first_ruled = false;
    }
  }
  return plan;
}

} // namespace

std::vector<double> march_levels(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                                 StepLimits const& limits) {
  return Marcher(meridian, tool, target, limits).march(1, limits.max_stepdown, max_levels - 1);
}

LevelPlan plan_levels(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                      StepLimits const& limits) {
  Marcher const marcher(meridian, tool, target, limits);
  if (!(meridian.length() > 0)) return measured(marcher, {0}, 0);
  std::vector<double> s = march_levels(meridian, tool, target, limits);
  if (s.back() < meridian.length()) s.push_back(meridian.length());
  std::size_t const steps = s.size() - 1;
  Rule rule{1, limits.max_stepdown};
  if (steps > 1 && steps + 1 < max_levels) {
    bool const spread = rule.stepdown > 0 && spread_into_limited(marcher, s, rule);
    if (!spread) rule.share = least_share(marcher, rule.stepdown, steps, 1);
    s = finished(marcher, rule, steps);
    join_short_last(marcher, limits.max_stepdown, s);
  }
  return measured(marcher, std::move(s), rule.stepdown);
}

LevelFigures measure_levels(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                            std::vector<Vec2> const& levels) {
  LevelFigures figures;
  bool first_cusp = true;
  for (std::size_t i = 0; i + 1 < levels.size(); ++i) {
    Vec2 const upper = levels[i], lower = levels[i + 1];
    double const drop = std::abs(upper.y - lower.y);
    double const cusp = cusp_peak_to_valley(tool, meridian, upper, lower);
    double const ra = ra_between(tool, meridian, upper, lower);
    double const figure = target.kind == FinishKind::ra ? ra : cusp;
    figures.figure_min = i == 0 ? figure : std::min(figures.figure_min, figure);
    figures.figure_max = std::max(figures.figure_max, figure);
    figures.stepdown_min = i == 0 ? drop : std::min(figures.stepdown_min, drop);
    figures.stepdown_max = std::max(figures.stepdown_max, drop);
    figures.cusp_max = std::max(figures.cusp_max, cusp);
    figures.ra_max = std::max(figures.ra_max, ra);
    Vec2 const upper_place = meridian.at(meridian.nearest(upper));
    Vec2 const lower_place = meridian.at(meridian.nearest(lower));
    if (cusp_height(tool, meridian, upper_place, lower_place) <= 1e-12) continue;
    figures.cusp_min = first_cusp ? cusp : std::min(figures.cusp_min, cusp);
    first_cusp = false;
  }
  return figures;
}

namespace {

// Levels at a constant stepdown over one meridian.
class ConstantSteps {
public:
  ConstantSteps(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                StepLimits const& limits)
      : meridian_(meridian)
      , marcher_(meridian, tool, target, limits)
      , most_(limits.max_stepdown)
      , height_(drop_between(meridian, 0, meridian.length())) {}

  double height() const { return height_; }

  bool within(std::size_t steps) const {
    double const drop = height_ / static_cast<double>(steps);
    if (most_ > 0 && drop > most_ * (1 + target_slack)) return false;
    double s = 0;
    for (std::size_t k = 1; k <= steps; ++k) {
      // Where the level's height is first reached: a floor belongs to the step that ends it.
      double const e = k == steps ? meridian_.length() : meridian_.reach(0, static_cast<double>(k) * drop);
      if (marcher_.excess(s, e, 1, 0) > 0) return false;
      s = e;
    }
    return true;
  }

  // The least number of steps from `steps` on; 0 where more would be needed than any pass has.
  std::size_t least(std::size_t steps) const {
    if (within(steps)) return steps;
    std::size_t low = steps; // fails
    std::size_t high = 2 * steps;
    for (; !within(high); high *= 2) {
      if (high >= max_levels) return 0;
      low = high;
    }
    while (high - low > 1) {
      std::size_t const middle = low + (high - low) / 2;
      (within(middle) ? high : low) = middle;
    }
    return high;
  }

private:
  Meridian const& meridian_;
  Marcher marcher_;
  double most_;
  double height_;
};

} // namespace

ConstantStep constant_stepdown(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                               StepLimits const& limits) {
  Meridian const* const one = &meridian;
  return constant_stepdown({&one, 1}, tool, target, limits);
}

ConstantStep constant_stepdown(std::span<Meridian const* const> meridians, Tool const& tool,
                               FinishTarget const& target, StepLimits const& limits) {
  std::size_t steps = 1;
  double height = 0;
  for (Meridian const* meridian : meridians) {
    ConstantSteps const over(*meridian, tool, target, limits);
    if (!(over.height() > 0)) continue;
    height = std::max(height, over.height());
    steps = over.least(steps);
    if (steps == 0) return {};
  }
  if (!(height > 0)) return {};
  return {height / static_cast<double>(steps), steps + 1};
}

} // namespace restep::cutter
