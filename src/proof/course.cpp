#include "proof/course.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::proof {

Course::Course(motion::Motion const& motion)
    : motion_(motion)
    , axes_(motion::axes_of(motion.plane))
    , length_(motion::length(motion)) {
  if (!arc()) return;
  sweep_ = motion.path == motion::PathKind::arc_cw ? -motion::sweep(motion) : motion::sweep(motion);
  start_angle_ = std::atan2(motion.from[axes_.second] - motion.centre[axes_.second],
                            motion.from[axes_.first] - motion.centre[axes_.first]);
}

double Course::nearest(Vec3 p, double expected) const {
  if (!arc()) {
    Vec3 const along = motion_.to - motion_.from;
    double const square = dot(along, along);
    return square > 0 ? std::clamp(dot(p - motion_.from, along) / square, 0.0, 1.0) : 0;
  }
  double const rise = motion_.to[axes_.normal] - motion_.from[axes_.normal];
  double t = 0;
  if (std::abs(rise) > std::abs(sweep_) * motion::radius(motion_)) {
    // Where it rises by more than it turns (one of no radius to speak of may), the height is the better
    // start.
    t = std::clamp((p[axes_.normal] - motion_.from[axes_.normal]) / rise, 0.0, 1.0);
  } else {
    double const angle = std::atan2(p[axes_.second] - motion_.centre[axes_.second],
                                    p[axes_.first] - motion_.centre[axes_.first]);
    double const turn = 2 * std::numbers::pi / std::abs(sweep_);
    t = (angle - start_angle_) / sweep_;
    t = std::clamp(t + std::round((expected - t) / turn) * turn, 0.0, 1.0);
  }
  // The angle says little on a steep helix: half a digit in the plane may be millimetres along the axis.
  // Newton's steps along the tangent; on a flat arc the angle is the answer.
  if (rise == 0) return t;
  constexpr double h = 1e-4;
  for (int i = 0; i < 3; ++i) {
    double const before = std::max(t - h, 0.0), behind = std::min(t + h, 1.0);
    Vec3 const along = (at(behind) - at(before)) / (behind - before);
    t = std::clamp(t + dot(p - at(t), along) / dot(along, along), 0.0, 1.0);
  }
  return t;
}

} // namespace restep::proof
