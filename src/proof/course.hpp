#pragma once

#include "motion/arc.hpp"
#include "motion/step.hpp"

namespace restep::proof {

using geometry::Vec3;

/// The way a motion takes between its end points, with a parameter from 0 (start) to 1 (end), and where along
/// it a given point lies. Both ends must be known.
class Course {
public:
  explicit Course(motion::Motion const& motion);

  Vec3 at(double t) const { return motion::point_at(motion_, t); }
  /// mm; a helix is measured along the helix.
  double length() const { return length_; }
  bool arc() const { return motion::is_arc(motion_); }
  /// Angle turned through, radians, positive counter-clockwise seen from the positive normal axis; 0 for a
  /// line.
  double sweep() const { return sweep_; }

  /// The parameter of the point nearest to p, of a flat arc that of the point at the same angle. On an arc
  /// that passes p more than once (a full turn at its seam) the one closest to `expected` is taken.
  double nearest(Vec3 p, double expected) const;

private:
  motion::Motion motion_;
  motion::PlaneAxes axes_;
  double start_angle_ = 0, sweep_ = 0, length_ = 0;
};

} // namespace restep::proof
