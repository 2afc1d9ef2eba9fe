#pragma once

#include "geometry/vec.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace restep::finish {

using geometry::Vec2;

/// One element of a contour in plan.
struct Segment {
  bool arc = false;
  bool ccw = false;
  Vec2 from{}, to{}, centre{};
  std::size_t step = 0; ///< index of its step in the operation

  double radius() const { return geometry::distance(from, centre); }
  double length() const;
};

/// The part of a level that cuts the surface: a closed loop, or an open path. What leads to it and away from
/// it at the same height (lead-in, lead-out, overlap) is not in it.
struct Contour {
  std::vector<Segment> segments;
  double z = 0;
  bool closed = false;

  std::size_t first_step() const { return segments.front().step; }
  std::size_t last_step() const { return segments.back().step; }
  Vec2 start() const { return segments.front().from; }
  Vec2 end() const { return segments.back().to; }
  double length() const;
};

/// The contours of an operation in the order they are cut. A run of feed motions at one height is one
/// contour: the longest part of it that returns to its own beginning when there is one, the whole run
/// otherwise. Runs with cutter compensation or rotary words are left out.
std::vector<Contour> find_contours(std::span<motion::Step const> operation);

/// True for a feed motion in the XY plane at constant known height that moves sideways.
bool is_level_cut(motion::Motion const& motion);

} // namespace restep::finish
