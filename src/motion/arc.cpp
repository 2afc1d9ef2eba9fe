#include "motion/arc.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::motion {

using geometry::Vec2;

namespace {

constexpr double quarter = std::numbers::pi / 2;

Vec2 in_plane(Vec3 const& point, PlaneAxes axes) {
  return {point[axes.first], point[axes.second]};
}

/// Sine and cosine, exact at quarter turns.
struct Turn {
  double cosine;
  double sine;
};
Turn turn_by(double angle) {
  double const quarters = angle / quarter;
  double const whole = std::nearbyint(quarters);
  if (std::abs(quarters - whole) < 1e-15 * (1 + std::abs(quarters))) {
    constexpr Turn exact[4] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
    return exact[static_cast<std::size_t>((static_cast<long long>(whole) % 4 + 4) % 4)];
  }
  return {std::cos(angle), std::sin(angle)};
}
Vec2 rotated(Vec2 v, Turn turn) {
  return {turn.cosine * v.x - turn.sine * v.y, turn.sine * v.x + turn.cosine * v.y};
}

/// Everything about an arc that the questions below share.
struct Shape {
  PlaneAxes axes;
  Vec2 centre;
  Vec2 start; ///< from the centre
  Vec2 end;
  double sense; ///< +1 counter-clockwise
  double sweep;
  double start_radius;
  double end_radius;

  explicit Shape(Motion const& arc)
      : axes(axes_of(arc.plane))
      , centre(in_plane(arc.centre, axes))
      , start(in_plane(arc.from, axes) - centre)
      , end(in_plane(arc.to, axes) - centre)
      , sense(arc.path == PathKind::arc_ccw ? 1 : -1)
      , sweep(turned())
      , start_radius(geometry::length(start))
      , end_radius(geometry::length(end)) {}

  // angle = atan2(s x e, s . e), counted in the arc's own sense
  double turned() const {
    if (start == end) return 4 * quarter;
    double const across = sense * geometry::cross(start, end);
    double const along = geometry::dot(start, end);
    if (across == 0) return along > 0 ? 4 * quarter : 2 * quarter;
    double const angle = std::atan2(across, along);
    return angle > 0 ? angle : angle + 4 * quarter;
  }

  Vec2 at(double fraction) const {
    Vec2 const turned_start = rotated(start, turn_by(sense * sweep * fraction));
    if (start_radius == 0) return turned_start;
    double const ratio = 1 + fraction * (end_radius - start_radius) / start_radius;
    return std::abs(ratio - 1) < 1e-15 ? turned_start : ratio * turned_start;
  }
};

} // namespace

double sweep(Motion const& arc) {
  return Shape(arc).sweep;
}

double radius(Motion const& arc) {
  return Shape(arc).start_radius;
}

double length(Motion const& motion) {
  if (!is_arc(motion)) return geometry::distance(motion.from, motion.to);
  // A helix unrolls to a straight line; with radii that differ the mean serves (they differ by microns).
  Shape const arc(motion);
  double const around = arc.sweep * (arc.start_radius + arc.end_radius) / 2;
  double const from = motion.from[arc.axes.normal];
  double const to = motion.to[arc.axes.normal];
  return !is_known(from) && !is_known(to) ? around : std::hypot(around, to - from);
}

Vec3 point_at(Motion const& motion, double fraction) {
  if (fraction <= 0) return motion.from;
  if (fraction >= 1) return motion.to;
  Vec3 point = motion.from + fraction * (motion.to - motion.from);
  if (!is_arc(motion)) return point;
  Shape const arc(motion);
  Vec2 const at = arc.centre + arc.at(fraction);
  point[arc.axes.first] = at.x;
  point[arc.axes.second] = at.y;
  return point;
}

Vec3 direction_at(Motion const& motion, double fraction) {
  Vec3 along = motion.to - motion.from;
  if (is_arc(motion)) {
    Shape const arc(motion);
    Vec2 const spoke = arc.at(fraction);
    Vec2 const tangent = arc.sense * arc.sweep * geometry::left_normal(spoke);
    along[arc.axes.first] = tangent.x;
    along[arc.axes.second] = tangent.y;
    if (!is_known(along[arc.axes.normal])) along[arc.axes.normal] = 0;
  }
  double const size = geometry::length(along);
  return size > 0 ? along / size : Vec3{};
}

Box bounds(Motion const& motion) {
  Box box{motion.from, motion.from};
  for (int axis = 0; axis < 3; ++axis) {
    // std::fmin and std::fmax would drop an unknown end: unknown it stays.
    double const a = motion.from[axis];
    double const b = motion.to[axis];
    box.low[axis] = is_known(b) ? std::min(a, b) : b;
    box.high[axis] = is_known(b) ? std::max(a, b) : b;
  }
  if (!is_arc(motion)) return box;

  // The four extremes of the circle, each taken when the arc passes over it.
  Shape const arc(motion);
  double const reach = std::max(arc.start_radius, arc.end_radius);
  constexpr Vec2 extremes[4] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
  for (Vec2 const extreme : extremes) {
    double const across = arc.sense * geometry::cross(arc.start, extreme);
    double const along = geometry::dot(arc.start, extreme);
    double angle = std::atan2(across, along);
    if (angle < 0) angle += 4 * quarter;
    if (angle >= arc.sweep) continue;
    Vec2 const at = arc.centre + reach * extreme;
    int const axis = extreme.x != 0 ? arc.axes.first : arc.axes.second;
    double const value = extreme.x != 0 ? at.x : at.y;
    box.low[axis] = std::min(box.low[axis], value);
    box.high[axis] = std::max(box.high[axis], value);
  }
  return box;
}

} // namespace restep::motion
