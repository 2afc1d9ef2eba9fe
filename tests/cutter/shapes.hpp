#pragma once

#include "cutter/meridian.hpp"
#include "cutter/tool.hpp"

#include <cmath>
#include <vector>

namespace restep::cutter::shapes {

/// Meridians and tools of the reference cases. Angles are the slope theta in degrees, 0 on a floor, 90 on a
/// wall, as in the formulas; not the angle from the axis that the user sees.

inline Tool end_mill(double corner_radius, double diameter = 6) {
  Tool tool;
  tool.diameter = diameter;
  tool.corner_radius = corner_radius;
  tool.kind = corner_radius == 0                   ? ToolKind::flat
              : corner_radius == tool.diameter / 2 ? ToolKind::ball
                                                   : ToolKind::bull;
  return tool;
}

inline Vec2 normal(double theta) {
  double const a = geometry::radians(theta);
  return {theta == 0 ? 0 : theta == 90 ? 1 : std::sin(a), theta == 90 ? 0 : std::cos(a)};
}

inline Piece line(Vec2 from, Vec2 to) {
  Piece piece;
  piece.from = from;
  piece.to = to;
  return piece;
}

/// A plane of slope theta that falls by `height`, from the given point.
inline Piece plane(double theta, double height, Vec2 from = {}) {
  Vec2 const n = normal(theta);
  return line(from, from + (height / n.x) * Vec2{n.y, -n.x});
}

/// The tips on a convex round of surface radius R about the origin; tips stand r below the corner centres.
inline Piece convex(double R, double r, double theta_from, double theta_to, Vec2 centre = {}) {
  Piece piece;
  piece.shape = Piece::Shape::arc;
  piece.convex = true;
  piece.rho = R + r;
  piece.centre = centre - Vec2{0, r};
  piece.from = piece.centre + piece.rho * normal(theta_from);
  piece.to = piece.centre + piece.rho * normal(theta_to);
  return piece;
}

/// The tips in a concave fillet of surface radius R about the origin, theta falling.
inline Piece concave(double R, double r, double theta_from, double theta_to, Vec2 centre = {}) {
  Piece piece;
  piece.shape = Piece::Shape::arc;
  piece.convex = false;
  piece.rho = R - r;
  piece.centre = centre - Vec2{0, r};
  piece.from = piece.centre - piece.rho * normal(theta_from);
  piece.to = piece.centre - piece.rho * normal(theta_to);
  return piece;
}

inline Meridian meridian(std::vector<Piece> pieces) {
  return Meridian(std::move(pieces));
}

/// Slope at an arc length, degrees.
inline double slope_at(Meridian const& m, double s) {
  Vec2 const t = m.tangent(s);
  return geometry::degrees(std::atan2(-t.y, t.x));
}

/// An edge round that runs out into a wall and ends in a fillet: the flange of a bell yoke.
inline Meridian flange(double R, double wall, double fillet, double r) {
  Piece const top = convex(R, r, 0, 90);
  Piece const side = line(top.to, {top.to.x, top.to.y - wall});
  Piece const foot = concave(fillet, r, 90, 0, {side.to.x + fillet - r, side.to.y + r});
  return Meridian({top, side, foot});
}

} // namespace restep::cutter::shapes
