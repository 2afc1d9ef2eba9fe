#pragma once

#include "finish/contour.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace restep::finish {

/// A contour moved sideways.
struct Moved {
  std::vector<Segment> segments;
  std::vector<std::size_t> origin; ///< per segment: the element that it was
  std::vector<Vec2> vertices;      ///< where each vertex of the original went, 0 ... n
};

/// The contour moved by `shift` mm to the left of its course. Vertices on curves move along the normal of
/// the curve, corners along their bisector so that both elements move by the shift; arcs keep their centres.
/// Elements that turn round and arcs whose radius falls to `least` or below vanish, and their neighbours meet
/// where they intersect. None where the neighbours do not meet or nothing is left.
std::optional<Moved> move_left(std::span<Segment const> segments, bool closed, double shift, double least);

} // namespace restep::finish
