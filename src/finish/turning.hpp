#pragma once

#include "geometry/vec.hpp"
#include "motion/arc.hpp"
#include "motion/step.hpp"

#include <cmath>

namespace restep::finish {

/// How far the course of the motions that are added has turned in plan, and where it points.
class Turning {
public:
  /// The next motion of the course: a line, or an arc in the XY plane.
  void add(motion::Motion const& m) {
    if (motion::is_arc(m)) {
      turned_ += (m.path == motion::PathKind::arc_ccw ? 1 : -1) * motion::sweep(m);
      direction_ = {};
      return;
    }
    geometry::Vec2 const along = geometry::xy(m.to) - geometry::xy(m.from);
    if (direction_ != geometry::Vec2{})
      turned_ += std::atan2(cross(direction_, along), dot(direction_, along));
    direction_ = along;
  }

  /// Radians, counter-clockwise above 0.
  double turned() const { return turned_; }

private:
  double turned_ = 0;
  geometry::Vec2 direction_{}; ///< of the last line; none behind an arc
};

} // namespace restep::finish
