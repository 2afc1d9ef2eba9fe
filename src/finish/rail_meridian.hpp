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

/// The curve through one point's levels (way, z), given from the top down, in one piece.
///
/// The fewest lines and arcs where fit_meridian finds them tangent to each other (levels at either end that
/// are too few for a piece of their own are reached by an arc tangent to its neighbour); a smooth curve where
/// the surface is none of these; else lines and arcs with corners. None when none of these explains every
/// level within `tolerance` (mm), or rises, or comes nearer to the material on its way down.
std::optional<RailMeridian> fit_rail_meridian(std::vector<geometry::Vec2> const& levels, double tolerance);

} // namespace restep::finish
