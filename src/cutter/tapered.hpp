#pragma once

#include "cutter/cusp.hpp"
#include "cutter/tool.hpp"

#include <string>

namespace restep::cutter {

/// Where the silhouettes of two successive levels of a tapered tool meet, in the frame of the corner-arc
/// centres (d, z + r). The corner arc ends where the cone touches it, at the height r sin alpha below its
/// centre (alpha: half angle of the cone), and the side of the lower level leans over the material from
/// there: C2 + r (-cos alpha, -sin alpha) + t (-sin alpha, cos alpha), t >= 0. On the arc formulas (5) and
/// (8) hold; on the cone it is met with the upper level's flat or arc. Exact.
CuspPoint tapered_cusp_point(Tool const& tool, Vec2 upper, Vec2 lower);

/// True when the two levels meet on the cone of the lower one and not on its corner arc.
bool meets_on_cone(Tool const& tool, Vec2 upper, Vec2 lower);

/// Why a tool cannot be planned with and what its table entry needs; for tools whose can_finish() is false.
std::string why_not_finishing(Tool const& tool, int number);

/// The largest slope of a meridian from horizontal, radians.
double steepest_slope(Meridian const& meridian);

/// Why a surface as steep as `steepest` (radians from horizontal) is not cut by the corner arc of the tool;
/// empty when it is. A wall steeper than a tapered tool's side is touched by the cone, higher up than the
/// arc.
std::string beyond_side(Tool const& tool, double steepest);

} // namespace restep::cutter
