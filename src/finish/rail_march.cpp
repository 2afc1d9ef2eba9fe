#include "finish/rail_march.hpp"

#include <algorithm>
#include <cmath>

namespace restep::finish {

RailMarch::RailMarch(RailSurface const& surface, cutter::Tool const& tool, cutter::FinishTarget const& target,
                     cutter::StepLimits const& limits)
    : height_(surface.top() - surface.bottom())
    , least_(std::max(limits.min_stepdown, height_ / static_cast<double>(cutter::max_levels)))
    , stepdown_(limits.max_stepdown) {
  if (stepdown_ > 0) least_ = std::min(least_, stepdown_);
  for (Rail const& rail : surface.rails())
    marchers_.emplace_back(rail.meridian, tool, target, limits);
}

double RailMarch::excess(std::size_t rail, double from, double to) const {
  if (from - to < 1e-12) return -1;
  cutter::Meridian const& m = marchers_[rail].meridian();
  return marchers_[rail].excess(m.down_to(from), m.down_to(to), 1, 0);
}

RailMarch::Step RailMarch::deepest(double z, double bottom) {
  Step step{z, stepdown_ > 0 ? std::max(bottom, z - stepdown_) : bottom, std::nullopt};
  double const highest = std::max(bottom, z - least_);
  // The rail that ruled the last step first: it leaves little to do for the others.
  if (last_worst_) narrow(*last_worst_, highest, step);
  for (std::size_t i = 0; i < marchers_.size(); ++i)
    narrow(i, highest, step);
  if (step.rail) last_worst_ = step.rail;
  step.least = step.to >= highest;
  if (step.least) step.to = highest;
  if (step.to - bottom <= 1e-12 * height_) step.to = bottom;
  return step;
}

void RailMarch::narrow(std::size_t rail, double highest, Step& step) const {
  if (step.to >= highest || excess(rail, step.from, step.to) <= 0) return;
  step.rail = rail;
  double const first = step.from - 1e-9 * height_;
  if (excess(rail, step.from, first) > 0) {
    // On a sharp edge every place leaves what its neighbours leave: on to where the next piece begins.
    cutter::Meridian const& m = marchers_[rail].meridian();
    double const end = m.at(m.starts()[m.piece_at(m.down_to(step.from)) + 1]).y;
    step.to = std::max(step.to, std::min(end, first));
    return;
  }
  step.to = cutter::last_within([&](double to) { return excess(rail, step.from, to); }, first, step.to,
                                1e-13 * height_);
}

RailMarch::Step RailMarch::ending_at(double z, double top) const {
  Step step{stepdown_ > 0 ? std::min(top, z + stepdown_) : top, z, std::nullopt};
  double const lowest = std::min(top, z + least_);
  for (std::size_t i = 0; i < marchers_.size(); ++i) {
    if (step.from <= lowest || excess(i, step.from, z) <= 0) continue;
    step.rail = i;
    double const last = z + 1e-9 * height_;
    if (excess(i, last, z) > 0) {
      step.from = last;
      continue;
    }
    step.from = cutter::last_within([&](double from) { return excess(i, from, z); }, last, step.from,
                                    1e-13 * height_);
  }
  step.least = step.from <= lowest;
  if (step.least) step.from = lowest;
  return step;
}

double RailMarch::part_of(Step const& step, double share) const {
  if (!step.rail) return step.from - share * (step.from - step.to);
  cutter::Meridian const& m = marchers_[*step.rail].meridian();
  double const from = m.down_to(step.from);
  return m.at(from + share * (m.down_to(step.to) - from)).y;
}

} // namespace restep::finish
