#pragma once

#include "cutter/meridian.hpp"
#include "geometry/vec.hpp"

#include <optional>
#include <vector>

namespace restep::finish {

/// The curve of one rail, and how far its levels stand off it.
struct RailMeridian {
  cutter::Meridian curve;
  double residual = 0; ///< mm
};

/// The fewest lines and arcs through one point's levels (way, z), given from the top down, in one piece.
///
/// fit_meridian finds them; levels at either end that are too few for a piece of their own are reached by an
/// arc tangent to the neighbouring piece, and pieces that do not meet are joined by two arcs tangent to both
/// and to each other (a biarc with equal arms). None when that does not explain every level within
/// 1.5 `tolerance` (mm), or rises, or comes nearer to the material on its way down.
std::optional<RailMeridian> fit_rail_meridian(std::vector<geometry::Vec2> const& levels, double tolerance);

} // namespace restep::finish
