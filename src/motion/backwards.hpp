#pragma once

#include "motion/step.hpp"

#include <algorithm>
#include <span>
#include <utility>
#include <vector>

namespace restep::motion {

/// The same way the other way round; twice is the motion itself.
inline Motion backwards(Motion m) {
  std::swap(m.from, m.to);
  m.wall = other(m.wall);
  if (!is_arc(m)) return m;
  m.path = m.path == PathKind::arc_cw ? PathKind::arc_ccw : PathKind::arc_cw;
  // The centre lies at the height of the start.
  if (m.plane == Plane::xy) m.centre.z = m.from.z;
  if (m.plane == Plane::zx) m.centre.y = m.from.y;
  if (m.plane == Plane::yz) m.centre.x = m.from.x;
  return m;
}

/// Steps from the last to the first, their motions the other way round. Only what moves makes sense so: for
/// what is to be understood, not to be run.
inline std::vector<Step> backwards(std::span<Step const> steps) {
  std::vector<Step> turned(steps.rbegin(), steps.rend());
  for (Step& step : turned)
    if (Motion* m = motion_of(step); m != nullptr) *m = backwards(*m);
  return turned;
}

} // namespace restep::motion
