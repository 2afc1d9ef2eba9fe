#pragma once

#include "geometry/arc.hpp"
#include "geometry/vec.hpp"

#include <optional>
#include <span>

namespace restep::geometry {

/// What an arc that stands for chords must keep to, in the points' unit.
struct ArcLimits {
  double tolerance = 0.002;
  double smallest_radius = 0.02;
  double largest_radius = 2000;
};

/// An arc of less than half a turn from the first point to the last that leaves neither the points nor the
/// middles of the chords between them by more than the tolerance; nothing when there is none.
///
/// The centres of all arcs between two points lie on the bisector of the two, and each point that the arc has
/// to pass within the tolerance allows one interval of it; an arc exists when the intervals have a place in
/// common. This is the test that the greedy approximation of an open polygon by the fewest arcs asks
/// (Drysdale, Rote and Sturm, Computational Geometry 41, 2008, 31-47; from memory).
std::optional<Arc2> arc_within(std::span<Vec2 const> points, ArcLimits const& limits);

/// The same with the least distance from the points and the middles of the chords.
std::optional<Arc2> nearest_arc(std::span<Vec2 const> points, ArcLimits const& limits);

} // namespace restep::geometry
