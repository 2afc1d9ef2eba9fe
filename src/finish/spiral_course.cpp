#include "finish/spiral_course.hpp"

#include "cutter/marcher.hpp"

#include <algorithm>
#include <cmath>

namespace restep::finish {

namespace {

using cutter::Meridian;

// The rule that a plan's levels follow.
struct Rule {
  double share = 1;    ///< of the target
  double stepdown = 0; ///< 0: no limit
};
Rule rule_of(cutter::LevelPlan const& plan, Meridian const& meridian, cutter::FinishTarget const& target,
             cutter::StepLimits const& limits) {
  Rule rule;
  bool const all_limited = plan.limited + 1 >= plan.s.size();
  if (!all_limited && plan.figure_max > 0) rule.share = std::min(1.0, plan.figure_max / target.limit);
  if (limits.max_stepdown > 0)
    for (std::size_t i = 0; i + 1 < plan.s.size(); ++i)
      rule.stepdown = std::max(rule.stepdown, meridian.at(plan.s[i]).y - meridian.at(plan.s[i + 1]).y);
  return rule;
}

constexpr int parts_of_a_turn = 64;

} // namespace

SpiralCourse SpiralCourse::plan(Meridian const& meridian, cutter::Tool const& tool,
                                cutter::FinishTarget const& target, cutter::StepLimits const& limits,
                                double part) {
  SpiralCourse course;
  course.part_ = part;
  course.length_ = meridian.length();

  // F(0) depends on the rule, the rule on where the whole turns begin.
  cutter::Marcher const marcher(meridian, tool, target, limits);
  Rule rule{1, limits.max_stepdown};
  double first_turn = marcher.march(rule.share, rule.stepdown, 1).back();
  double begin = 0;
  cutter::LevelPlan plan;
  for (int round = 0; round < 12; ++round) {
    begin = part * first_turn;
    Meridian const rest = begin > 0 ? meridian.part(begin, meridian.length()) : meridian;
    plan = cutter::plan_levels(rest, tool, target, limits);
    rule = rule_of(plan, rest, target, limits);
    double const now = marcher.march(rule.share, rule.stepdown, 1).back();
    bool const settled = part == 0 || std::abs(now - first_turn) < 1e-9 * course.length_;
    first_turn = now;
    if (settled) break;
  }
  first_turn = std::max(first_turn, begin);
  course.steps_ = plan.s.size() - 1;
  course.target_missed_ = plan.target_missed;

  // Through (0, 0), (part, begin) and (1, F(0)); the places between them as the first turn passes them.
  auto const first_at = [&](double t) {
    return t < part ? begin * t / part : begin + (first_turn - begin) * (t - part) / (1 - part);
  };
  auto const rail_at = [&](double t) {
    std::size_t const steps = t < part ? course.steps_ : course.steps_ - 1;
    double const s = first_at(t);
    Rail rail{t, {s}};
    if (steps > 0 && s < course.length_) {
      Meridian const rest = s > 0 ? meridian.part(s, meridian.length()) : meridian;
      cutter::Marcher const on(rest, tool, target, limits);
      std::vector<double> const march = on.march(rule.share, rule.stepdown, steps);
      for (std::size_t k = 1; k < march.size(); ++k)
        rail.s.push_back(s + march[k]);
    }
    rail.s.resize(steps + 1, course.length_);
    return rail;
  };
  // The turn of the plan and the turn above its beginning and its end hold; one that ends is the next one's
  // beginning.
  Rail planned{part, {}};
  for (double const on : plan.s)
    planned.s.push_back(begin + on);
  Rail const first = part > 0 ? rail_at(0) : planned;
  Rail const last{1, {first.s.begin() + 1, first.s.end()}};
  course.rails_.push_back(first);
  auto const fill = [&](double to, Rail const& upto) {
    // At a sharp edge of the surface some places are no use to stand on, and a march that meets one falls
    // behind those beside it. Such are left out: a spiral does not go back.
    auto const between = [&](Rail const& rail) {
      Rail const& before = course.rails_.back();
      for (std::size_t k = 0; k < rail.s.size(); ++k)
        if ((k < before.s.size() && rail.s[k] < before.s[k]) || (k < upto.s.size() && rail.s[k] > upto.s[k]))
          return false;
      return true;
    };
    for (int i = 1; i < parts_of_a_turn; ++i) {
      double const t = static_cast<double>(i) / parts_of_a_turn;
      if (t <= course.rails_.back().part || t >= to) continue;
      if (Rail rail = rail_at(t); between(rail)) course.rails_.push_back(std::move(rail));
    }
    course.rails_.push_back(upto);
  };
  if (part > 0) fill(part, planned);
  fill(1, last);
  return course;
}

double SpiralCourse::s(double t) const {
  if (t <= 0) return 0;
  if (t >= turns()) return length_;
  double const whole = std::floor(t);
  auto const k = static_cast<std::size_t>(whole);
  double const within = t - whole;
  auto const after = std::upper_bound(rails_.begin(), rails_.end(), within,
                                      [](double v, Rail const& r) { return v < r.part; });
  Rail const& b = after == rails_.end() ? rails_.back() : *after;
  Rail const& a = *(after - 1);
  auto const on = [&](Rail const& r) { return k < r.s.size() ? r.s[k] : length_; };
  if (b.part <= a.part) return on(a);
  return on(a) + (within - a.part) / (b.part - a.part) * (on(b) - on(a));
}

} // namespace restep::finish
