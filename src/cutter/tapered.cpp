#include "cutter/tapered.hpp"

#include "geometry/vec.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

namespace restep::cutter {

using geometry::dot;

namespace {

// Where the lower level's cone meets the corner arc about `centre`, the nearest to the cone's foot that lies
// on the underside: below the arc's centre, and for tools with a flat on the left half.
std::optional<Vec2> cone_on_arc(Vec2 foot, Vec2 along, Vec2 centre, double r, bool ball, double sine) {
  Vec2 const v = foot - centre;
  double const b = dot(v, along);
  double const root = b * b - (dot(v, v) - r * r);
  if (root < 0) return std::nullopt;
  for (double const t : {-b - std::sqrt(root), -b + std::sqrt(root)}) {
    if (t < 0) continue;
    Vec2 const p = foot + t * along;
    bool const on_arc = p.y <= centre.y - r * sine + 1e-12;
    if (on_arc && (ball || p.x <= centre.x + 1e-12)) return p;
  }
  return std::nullopt;
}

} // namespace

CuspPoint tapered_cusp_point(Tool const& tool, Vec2 upper, Vec2 lower) {
  double const r = tool.corner_radius;
  bool const ball = tool.flat_radius() <= 1e-9;
  double const alpha = geometry::radians(tool.taper);
  double const sine = std::sin(alpha);
  double const cosine = std::cos(alpha);
  CuspPoint const upright = cusp_point(r, ball, upper, lower);
  if (upright.kind == CuspCase::none) return upright;
  bool const arc_of_lower = upright.kind == CuspCase::arc_arc || upright.kind == CuspCase::flat_arc;
  if (arc_of_lower && upright.at.y <= lower.y - r * sine) return upright;

  Vec2 const foot = lower + r * Vec2{-cosine, -sine};
  Vec2 const along{-sine, cosine};
  if (!ball) {
    // The flat of the upper level, from under its corner-arc centre on.
    double const t = (upper.y - r - foot.y) / cosine;
    Vec2 const p = foot + t * along;
    if (t >= 0 && p.x >= upper.x) return {CuspCase::flat_side, p};
  }
  if (auto const p = cone_on_arc(foot, along, upper, r, ball, sine)) return {CuspCase::arc_side, *p};
  return {}; // the lower level has cut all that the upper one left
}

bool meets_on_cone(Tool const& tool, Vec2 upper, Vec2 lower) {
  if (tool.taper == 0) return false;
  CuspCase const kind = tapered_cusp_point(tool, upper, lower).kind;
  return kind == CuspCase::flat_side || kind == CuspCase::arc_side;
}

std::string why_not_finishing(Tool const& tool, int number) {
  if (!(tool.diameter > 0))
    return fmt::format(
        "tool T{} has no diameter in the tool table: its diameter and corner radius are needed", number);
  if (tool.taper != 0 && tool.kind == ToolKind::flat)
    return fmt::format(
        "tool T{} ({}) is tapered without a corner radius: the cusps of a tapered ball or bull "
        "are known; its shape in the tool table must be one of these",
        number, describe(tool));
  if (tool.kind == ToolKind::ball || tool.kind == ToolKind::bull)
    return fmt::format("tool T{} ({}): its diameter of {:.3f} mm, corner radius of {:.3f} mm and taper of {} "
                       "degrees do not go together in the tool table",
                       number, describe(tool), tool.diameter, tool.corner_radius, tool.taper);
  return fmt::format("tool T{} ({}) is not a flat, ball or bull mill: its cusps are not known", number,
                     describe(tool));
}

double steepest_slope(Meridian const& meridian) {
  double const beside = 1e-9 * meridian.length(); // a joint has two tangents
  double sine = 0;
  for (double const s : meridian.starts())
    for (double const at : {s - beside, s + beside})
      sine = std::max(sine, -meridian.tangent(at).y);
  return std::asin(std::min(sine, 1.0));
}

std::string beyond_side(Tool const& tool, double steepest) {
  constexpr double same_angle = 1e-3; // radians: what the digits of a few levels say about a slope
  double const limit = std::numbers::pi / 2 - geometry::radians(tool.taper);
  if (tool.taper == 0 || steepest <= limit + same_angle) return {};
  return fmt::format(
      "its surface is up to {:.2f} degrees steep and the side of the tapered tool {:.2f}: there "
      "the cone cuts and not the corner arc; a tool with a taper of {:.2f} degrees or less is "
      "needed",
      geometry::degrees(steepest), geometry::degrees(limit), 90 - geometry::degrees(steepest));
}

} // namespace restep::cutter
