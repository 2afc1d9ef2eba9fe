#include "finish/spiral_way.hpp"

#include "cutter/marcher.hpp"

#include <algorithm>
#include <cmath>

namespace restep::finish {

SpiralWay SpiralWay::plan(cutter::Meridian const& meridian, cutter::Tool const& tool,
                          cutter::FinishTarget const& target, cutter::StepLimits const& limits,
                          OwnSpiral const& own) {
  SpiralWay way;
  way.own_ = own;
  way.course_to_ = own.open ? own.s(own.turns - 1) : meridian.length();
  if (!own.begins_level) {
    // One that falls a little less than the largest step is a new one with its share of what was left over.
    constexpr double less = 0.9;
    cutter::Marcher const marcher(meridian, tool, target, limits);
    double const largest = marcher.march(1, limits.max_stepdown, 1).back();
    double const first = own.s(1);
    if (first < less * largest && first < way.course_to_) {
      way.first_kept_ = 1;
      way.course_from_ = first;
    }
  }
  double const part = std::max(0.0, own.turns - std::floor(own.turns + 1e-9));
  way.course_ =
      SpiralCourse::plan(meridian.part(way.course_from_, way.course_to_), tool, target, limits, part);
  way.target_missed_ = way.course_.target_missed();
  if (!own.open) return way;

  cutter::LevelPlan const last =
      cutter::plan_levels(meridian.part(way.course_to_, meridian.length()), tool, target, limits);
  way.target_missed_ = way.target_missed_ || last.target_missed;
  for (double const on : last.s)
    way.last_steps_.push_back(way.course_to_ + on);
  return way;
}

double SpiralWay::s(double t) const {
  if (t < first_kept_) return own_.s(t);
  double const behind = t - course_end();
  std::size_t const turns = last_turns();
  if (behind <= 0 || turns == 0) return course_from_ + course_.s(t - first_kept_);
  auto const k = std::min(static_cast<std::size_t>(std::ceil(behind)), turns);
  double const kept = own_.s(own_.turns - static_cast<double>(k) + behind);
  if (k == turns) return kept;
  return place_after(steps_to(kept) * static_cast<double>(k) / static_cast<double>(turns));
}

double SpiralWay::steps_to(double s) const {
  if (s <= last_steps_.front()) return 0;
  if (s >= last_steps_.back()) return static_cast<double>(last_turns());
  auto const b = std::upper_bound(last_steps_.begin(), last_steps_.end(), s);
  double const before = static_cast<double>(b - last_steps_.begin() - 1);
  return before + (s - *(b - 1)) / (*b - *(b - 1));
}

double SpiralWay::place_after(double steps) const {
  auto const k = static_cast<std::size_t>(steps);
  if (k + 1 >= last_steps_.size()) return last_steps_.back();
  return last_steps_[k] + (steps - static_cast<double>(k)) * (last_steps_[k + 1] - last_steps_[k]);
}

} // namespace restep::finish
