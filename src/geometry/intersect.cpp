#include "geometry/intersect.hpp"

#include <algorithm>
#include <cmath>

namespace restep::geometry {

std::optional<Vec2> line_line(Vec2 a1, Vec2 a2, Vec2 b1, Vec2 b2) {
  Vec2 const u = normalized(a2 - a1), v = normalized(b2 - b1);
  double const sine = cross(u, v);
  if (std::abs(sine) < 1e-12) return std::nullopt;
  return a1 + (cross(b1 - a1, v) / sine) * u;
}

std::vector<Vec2> line_circle(Vec2 a, Vec2 b, Circle const& circle, double tolerance) {
  Vec2 const u = normalized(b - a);
  if (u == Vec2{}) return {};
  double const away = cross(u, circle.centre - a); // signed distance of the centre from the line
  Vec2 const foot = circle.centre + away * Vec2{u.y, -u.x};
  double const gap = circle.radius - std::abs(away);
  if (gap < -tolerance) return {};
  if (gap <= tolerance) return {foot};
  double const half = std::sqrt(gap * (circle.radius + std::abs(away)));
  return {foot - half * u, foot + half * u};
}

std::vector<Vec2> circle_circle(Circle const& a, Circle const& b, double tolerance) {
  Vec2 const between = b.centre - a.centre;
  double const d = length(between);
  if (d == 0) return {};
  Vec2 const u = between / d;
  double const outside = a.radius + b.radius - d, inside = d - std::abs(a.radius - b.radius);
  if (outside < -tolerance || inside < -tolerance) return {};
  // Touching: the point in the middle of the gap or of the overlap.
  if (outside <= tolerance) return {a.centre + (a.radius - outside / 2) * u};
  if (inside <= tolerance) {
    double const side = a.radius >= b.radius ? 1 : -1;
    double const reach = side > 0 ? (a.radius + d + b.radius) / 2 : (a.radius + b.radius - d) / 2;
    return {a.centre + side * reach * u};
  }
  // Along the line of centres x = (d^2 + Ra^2 - Rb^2)/(2d); across, the height of the triangle by Heron.
  double const along = (d * d + (a.radius - b.radius) * (a.radius + b.radius)) / (2 * d);
  double const area = outside * inside * (a.radius + b.radius + d) * (d + std::abs(a.radius - b.radius));
  double const across = std::sqrt(std::max(0.0, area)) / (2 * d);
  Vec2 const middle = a.centre + along * u;
  return {middle + across * left_normal(u), middle - across * left_normal(u)};
}

} // namespace restep::geometry
