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
    add(m.from, m.to);
  }
  /// The same of a line.
  void add(geometry::Vec3 const& from, geometry::Vec3 const& to) {
    geometry::Vec2 const along = geometry::xy(to) - geometry::xy(from);
    if (direction_ != geometry::Vec2{}) turned_ += turn(cross(direction_, along), dot(direction_, along));
    direction_ = along;
  }

  /// Radians, counter-clockwise above 0.
  double turned() const { return turned_; }

private:
  /// Most lines go on nearly straight: atan t = t - t^3 / 3 + t^5 / 5 - t^7 / 7 + ..., and the next term is
  /// below 1e-21 there.
  static double turn(double sine, double cosine) {
    constexpr double small = 0.005;
    if (!(std::abs(sine) <= small * cosine) || cosine == 0) return std::atan2(sine, cosine);
    double const t = sine / cosine;
    double const t2 = t * t;
    return t - t * t2 * (1.0 / 3 - t2 * (1.0 / 5 - t2 / 7));
  }

  double turned_ = 0;
  geometry::Vec2 direction_{}; ///< of the last line; none behind an arc
};

} // namespace restep::finish
