#pragma once

#include "geometry/vec.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::geometry {

/// A circular arc in a plane, from `start` to `end` about `centre`, counter-clockwise or not. Start and end
/// that coincide are a full circle. The radius at the start counts; a different one at the end (the digits of
/// a program) is met by a radius that changes evenly on the way.
struct Arc2 {
  Vec2 start{}, end{};
  Vec2 centre{};
  bool ccw = true;

  double radius() const { return distance(centre, start); }

  /// Angle turned, radians: above 0 counter-clockwise, below 0 clockwise, never 0; a full circle is 2 pi.
  double sweep() const {
    if (start == end) return ccw ? 2 * std::numbers::pi : -2 * std::numbers::pi;
    Vec2 const a = start - centre, b = end - centre;
    double turn = std::atan2(cross(a, b), dot(a, b));
    if (ccw && turn <= 0) turn += 2 * std::numbers::pi;
    if (!ccw && turn >= 0) turn -= 2 * std::numbers::pi;
    return turn;
  }

  double length() const { return std::abs(sweep()) * (radius() + distance(centre, end)) / 2; }

  /// The point after the share t of the sweep; start and end are met to the last digit.
  Vec2 at(double t) const {
    if (t <= 0) return start;
    if (t >= 1) return end;
    Vec2 const arm = turned(start - centre, t * sweep());
    double const r = radius();
    double const stretch = r > 0 ? 1 + t * (distance(centre, end) - r) / r : 1;
    return centre + stretch * arm;
  }

  /// Unit direction of travel after the share t of the sweep.
  Vec2 direction(double t) const {
    Vec2 const arm = turned(start - centre, std::clamp(t, 0.0, 1.0) * sweep());
    return normalized(ccw ? left_normal(arm) : -left_normal(arm));
  }

  /// The share of the sweep whose point is nearest to p. Any share serves for the centre; 0 is returned.
  double nearest(Vec2 p) const {
    Vec2 const a = start - centre, b = p - centre;
    if (b == Vec2{}) return 0;
    double const whole = sweep();
    double turn = std::atan2(cross(a, b), dot(a, b));
    if (whole > 0 && turn < 0) turn += 2 * std::numbers::pi;
    if (whole < 0 && turn > 0) turn -= 2 * std::numbers::pi;
    double const t = turn / whole;
    if (t <= 1) return t;
    return distance(p, start) < distance(p, end) ? 0 : 1;
  }

  /// v turned counter-clockwise by an angle in radians. Quarter turns come out to the last digit, so that
  /// the quadrant points of a circle in whole digits keep whole digits.
  static Vec2 turned(Vec2 v, double angle) {
    double const quarters = angle / (std::numbers::pi / 2);
    double const nearest_quarter = std::nearbyint(quarters);
    if (std::abs(quarters - nearest_quarter) <= 4e-16 * std::max(1.0, std::abs(quarters))) {
      switch ((static_cast<long long>(nearest_quarter) % 4 + 4) % 4) {
      case 0: return v;
      case 1: return {-v.y, v.x};
      case 2: return -v;
      default: return {v.y, -v.x};
      }
    }
    double const c = std::cos(angle), s = std::sin(angle);
    return {c * v.x - s * v.y, s * v.x + c * v.y};
  }
};

} // namespace restep::geometry
