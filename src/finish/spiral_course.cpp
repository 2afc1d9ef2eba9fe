#include "finish/spiral_course.hpp"

#include "cutter/marcher.hpp"

#include <algorithm>
#include <cmath>

namespace restep::finish {

namespace {

using cutter::Meridian;

// The meridian from s on.
Meridian from(Meridian const& meridian, double s) {
  std::vector<cutter::Piece> pieces;
  for (std::size_t i = meridian.piece_at(s); i < meridian.pieces().size(); ++i) {
    pieces.push_back(meridian.pieces()[i]);
    if (pieces.size() == 1) pieces.front().from = meridian.at(s);
  }
  return Meridian(std::move(pieces));
}

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
    Meridian const rest = begin > 0 ? from(meridian, begin) : meridian;
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

  std::vector<double> parts;
  for (int i = 0; i <= parts_of_a_turn; ++i)
    parts.push_back(static_cast<double>(i) / parts_of_a_turn);
  if (part > 0) parts.insert(std::upper_bound(parts.begin(), parts.end(), part), part);
  for (double const t : parts) {
    // Through (0, 0), (part, begin) and (1, F(0)).
    double const s =
        t <= part && part > 0 ? begin * t / part : begin + (first_turn - begin) * (t - part) / (1 - part);
    Rail rail{t, {s}};
    std::size_t const steps = t < part ? course.steps_ : course.steps_ - 1;
    if (t == part) {
      rail.s.clear();
      for (double const on : plan.s)
        rail.s.push_back(begin + on);
    } else if (steps > 0 && s < course.length_) {
      Meridian const rest = s > 0 ? from(meridian, s) : meridian;
      cutter::Marcher const on(rest, tool, target, limits);
      std::vector<double> const march = on.march(rule.share, rule.stepdown, steps);
      for (std::size_t k = 1; k < march.size(); ++k)
        rail.s.push_back(s + march[k]);
    }
    if (t != part) rail.s.resize(steps + 1, course.length_);
    course.rails_.push_back(std::move(rail));
  }
  // Where the plan joined a short last step to the one before it the marches fall short of the end: the last
  // turn makes up for it evenly.
  double const short_by = course.length_ - course.s(course.turns() - 1e-9);
  if (short_by > 1e-9)
    for (Rail& rail : course.rails_) {
      double const behind = rail.part - part + (rail.part < part ? 1 : 0); // since the last turn began
      if (rail.part != part) rail.s.back() = std::min(rail.s.back() + short_by * behind, course.length_);
    }
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
