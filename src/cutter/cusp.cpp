#include "cutter/cusp.hpp"

#include "cutter/tapered.hpp"

#include <algorithm>
#include <cmath>

namespace restep::cutter {

using geometry::distance;

namespace {

/// sqrt(2 r x - x^2): half the chord that a horizontal or vertical at the depth x cuts from a circle; beyond
/// the circle it stays at 0.
double half_chord(double r, double x) {
  return std::sqrt(std::max(0.0, x * (2 * r - x)));
}

Vec2 corner_centre(Tool const& tool, Vec2 tip) {
  return {tip.x, tip.y + tool.corner_radius};
}

/// A bull whose corners meet within the digits of a tool table is a ball.
bool is_ball(Tool const& tool) {
  return tool.corner_radius > 0 && tool.flat_radius() <= 1e-9;
}

CuspPoint meeting_of(Tool const& tool, Vec2 upper, Vec2 lower) {
  return tool.taper > 0 ? tapered_cusp_point(tool, upper, lower)
                        : cusp_point(tool.corner_radius, is_ball(tool), upper, lower);
}

/// Height of the meeting point above the surface, which may come out negative for levels off the meridian.
/// False when there is none.
bool meeting_height(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower, double& height) {
  CuspPoint const meeting = outlines_meet(tool, upper, lower);
  if (meeting.kind == CuspCase::none) return false;
  if (on_one_edge(meridian, tool.corner_radius, upper, lower)) return false;
  height = meridian.height_above_surface(meeting.at, tool.corner_radius);
  return true;
}

} // namespace

CuspPoint outlines_meet(Tool const& tool, Vec2 upper, Vec2 lower) {
  return meeting_of(tool, corner_centre(tool, upper), corner_centre(tool, lower));
}

bool on_one_edge(Meridian const& meridian, double corner_radius, Vec2 upper, Vec2 lower) {
  constexpr double off_curve = 1e-3; // mm; the digits of a program
  for (Piece const& piece : meridian.pieces()) {
    if (piece.shape != Piece::Shape::arc || !piece.convex ||
        piece.rho >= corner_radius + Meridian::edge_tolerance)
      continue;
    auto const belongs = [&](Vec2 p) {
      return std::abs(distance(p, piece.centre) - piece.rho) <= off_curve &&
             p.x >= piece.from.x - off_curve && p.x <= piece.to.x + off_curve &&
             p.y <= piece.from.y + off_curve && p.y >= piece.to.y - off_curve;
    };
    if (belongs(upper) && belongs(lower)) return true;
  }
  return false;
}

// du = u2 - u1, dz = z1 - z2, c^2 = du^2 + dz^2, C1 the upper and C2 the lower corner-arc centre:
//   A  c^2 <= 2 r du and c^2 <= 2 r dz   P = (C1 + C2)/2 - sqrt(r^2 - c^2/4) (dz, du)/c              (5)
//   B  du >= r and dz >= r               P = (u2 - r, z1 - r)                                        (6)
//   C  du < r and c^2 > 2 r du           P = (u2 - r, z1 - sqrt(2 r du - du^2))                      (7)
//   D  otherwise                         P = (u2 - sqrt(2 r dz - dz^2), z1 - r)                      (8)
// A ball has no flat: A without its second condition, otherwise C.
CuspPoint cusp_point(double corner_radius, bool ball, Vec2 upper, Vec2 lower) {
  double const r = corner_radius;
  double const du = lower.x - upper.x;
  double const dz = upper.y - lower.y;
  if (!(du > 0)) return {};
  double const c2 = du * du + dz * dz;
  if (c2 <= 2 * r * du && (ball || c2 <= 2 * r * dz)) {
    double const lift = std::sqrt(std::max(0.0, r * r - c2 / 4) / c2);
    return {CuspCase::arc_arc, 0.5 * (upper + lower) - lift * Vec2{dz, du}};
  }
  if (ball) return {CuspCase::arc_side, {lower.x - r, upper.y - half_chord(r, du)}};
  if (du >= r && dz >= r) return {CuspCase::flat_side, {lower.x - r, upper.y - r}};
  if (du < r && c2 > 2 * r * du) return {CuspCase::arc_side, {lower.x - r, upper.y - half_chord(r, du)}};
  return {CuspCase::flat_arc, {lower.x - half_chord(r, dz), upper.y - r}};
}

double bottom_used(Tool const& tool, Vec2 upper, Vec2 lower) {
  double const du = lower.x - upper.x;
  if (!(du > 0)) return 0;
  if (is_ball(tool)) return du / (2 * tool.corner_radius);
  CuspPoint const meeting = meeting_of(tool, upper, lower);
  if (meeting.kind == CuspCase::none) return 0;
  return std::max(0.0, meeting.at.x - upper.x) / (2 * tool.flat_radius());
}

bool leaves_ridge(Tool const& tool, Vec2 upper, Vec2 lower) {
  return bottom_used(tool, upper, lower) > 1;
}

double cusp_height(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower) {
  double height = 0;
  if (!meeting_height(tool, meridian, upper, lower, height)) return 0;
  return std::max(0.0, height);
}

double cusp_peak_to_valley(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower) {
  double height = 0;
  if (!meeting_height(tool, meridian, upper, lower, height)) return 0;
  double const valley = (meridian.signed_distance(upper) + meridian.signed_distance(lower)) / 2;
  return std::max(0.0, height - valley);
}

} // namespace restep::cutter
