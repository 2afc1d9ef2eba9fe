#pragma once

#include "cutter/meridian.hpp"
#include "geometry/vec.hpp"

#include <optional>
#include <vector>

namespace restep::finish {

/// The smoothest curve through points (d, z), given from the top down, within `tolerance` mm: the cubic
/// B-spline over chord length with the fewest equal spans whose least-squares fit stands off no point by more
/// (de Boor, A Practical Guide to Splines, ch. XIV), told as arcs that are tangent to each other (biarcs with
/// equal arms). None when there are too few points to tell a curve from their digits, or when it turns back.
std::optional<cutter::Meridian> smooth_curve(std::vector<geometry::Vec2> const& points, double tolerance);

/// The arc from `from` in the unit direction `direction` to `to`; a line where it would be too flat.
cutter::Piece tangent_arc(geometry::Vec2 from, geometry::Vec2 direction, geometry::Vec2 to);

} // namespace restep::finish
