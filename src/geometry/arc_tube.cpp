#include "geometry/arc_tube.hpp"

#include <algorithm>
#include <cmath>

namespace restep::geometry {

namespace {

// Nearly half a turn, as the least distance of the centre from the chord in half chords: cot 85 degrees.
constexpr double least_rise = 0.0875;

/// Where centres may lie on the bisector, measured from the chord's middle.
struct Interval {
  double least, most;
  bool empty() const { return !(least <= most); }
  void keep_above(double t) { least = std::max(least, t); }
  void keep_below(double t) { most = std::min(most, t); }
  void clear() { most = least - 1; }
};

/// The chord as the first axis, the side of the centre as the second: an arc of less than half a turn bulges
/// towards negative v, whichever way it turns.
struct Frame {
  Vec2 middle, along, towards_centre;
  double half = 0; ///< of the chord
  bool ccw = true;

  explicit Frame(std::span<Vec2 const> points)
      : middle((points.front() + points.back()) / 2)
      , along(normalized(points.back() - points.front()))
      , half(distance(points.front(), points.back()) / 2) {
    double side = 0;
    for (Vec2 const p : points)
      side += cross(along, p - middle);
    ccw = side <= 0;
    towards_centre = ccw ? left_normal(along) : -left_normal(along);
  }
};

/// Narrows `centres` to those whose arcs pass p within the tolerance e: with the centre at height t over the
/// chord of half length h, | sqrt(u^2 + (v - t)^2) - sqrt(t^2 + h^2) | <= e. Without the roots this is
/// q + w t between -2 e R and 2 e R, with q = u^2 + v^2 - h^2 - e^2 and w = -2 v.
void narrow(Interval& centres, Frame const& frame, Vec2 p, double e) {
  double const h = frame.half;
  double const u = dot(p - frame.middle, frame.along), v = dot(p - frame.middle, frame.towards_centre);
  if (v > e || std::abs(u) > h + e) return centres.clear();
  double const q = u * u + v * v - h * h - e * e, w = -2 * v;
  double const d = w * w - 4 * e * e;
  double const square = q * q + h * h * d;
  if (d > 1e-6 * e * e) {
    double const reach = 2 * e * std::sqrt(square);
    centres.keep_above((-q * w - reach) / d);
    centres.keep_below((-q * w + reach) / d);
  } else if (q < 0 && square >= 0) {
    // So near the chord that the straight line serves too: only centres that are too near are out.
    if (d < -1e-6 * e * e)
      centres.keep_above((q * w + 2 * e * std::sqrt(square)) / -d);
    else
      centres.keep_above((4 * e * e * h * h - q * q) / (2 * q * w));
  }
}

Interval centres_within(std::span<Vec2 const> points, Frame const& frame, ArcLimits const& limits,
                        double tolerance) {
  double const h = frame.half, most = limits.largest_radius, least = limits.smallest_radius;
  Interval centres{least_rise * h, -1};
  if (h == 0 || h >= most) return centres;
  centres.most = std::sqrt(most * most - h * h);
  if (least > h) centres.keep_above(std::sqrt(least * least - h * h));
  for (std::size_t i = 1; i < points.size() && !centres.empty(); ++i) {
    narrow(centres, frame, (points[i - 1] + points[i]) / 2, tolerance);
    if (i + 1 < points.size()) narrow(centres, frame, points[i], tolerance);
  }
  return centres;
}

Arc2 arc_in(Interval centres, Frame const& frame, std::span<Vec2 const> points) {
  double const t = (centres.least + centres.most) / 2;
  return {points.front(), points.back(), frame.middle + t * frame.towards_centre, frame.ccw};
}

} // namespace

std::optional<Arc2> arc_within(std::span<Vec2 const> points, ArcLimits const& limits) {
  if (points.size() < 3) return std::nullopt;
  Frame const frame(points);
  Interval const centres = centres_within(points, frame, limits, limits.tolerance);
  if (centres.empty()) return std::nullopt;
  return arc_in(centres, frame, points);
}

std::optional<Arc2> nearest_arc(std::span<Vec2 const> points, ArcLimits const& limits) {
  constexpr int halvings = 12;
  if (points.size() < 3) return std::nullopt;
  Frame const frame(points);
  Interval best = centres_within(points, frame, limits, limits.tolerance);
  if (best.empty()) return std::nullopt;
  double too_small = 0, enough = limits.tolerance;
  for (int i = 0; i < halvings; ++i) {
    double const tried = (too_small + enough) / 2;
    Interval const centres = centres_within(points, frame, limits, tried);
    if (centres.empty()) {
      too_small = tried;
    } else {
      enough = tried;
      best = centres;
    }
  }
  return arc_in(best, frame, points);
}

} // namespace restep::geometry
