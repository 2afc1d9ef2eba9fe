#pragma once

#include "finish/offsets.hpp"

#include <cstddef>
#include <vector>

namespace restep::finish {

/// A contour as it will be written: every vertex on the control's digits, centres exact. Its start, its
/// direction and the steps that its elements take after are those of the program's level that it was shaped
/// from.
struct ShapedContour {
  Contour contour;
  Vec2 start{};                            ///< loops: where the cut begins and ends
  Vec2 start_direction{}, end_direction{}; ///< unit directions of the cut there
};

/// A level that is to be cut.
struct ShapedLevel {
  Vec2 tip{};           ///< (d, z) that the contours stand for: d exact, z as written
  double displaced = 0; ///< mean displacement of the written contours away from the material, mm
  std::vector<ShapedContour> contours;
  bool failed = false; ///< the program's contours cannot be moved there: see move_left
  double inward =
      0; ///< largest displacement of any element towards the material from its exact place, mm, >= 0
  double outward = 0; ///< the same away from the material, >= 0

  /// The tip that its written contours stand for in the mean, as a reader of them would find it.
  Vec2 written() const { return {tip.x + displaced, tip.y}; }
};

/// Shapes the contours of a level at offset d and height z on digits of `resolution` mm. Every corner goes to
/// that one of its four neighbouring grid points that displaces the elements it joins least along their
/// normals. A loop begins where the loop of the program's level nearest in height does.
/// Where the levels do not match element by element the nearest level that can be moved there is taken as it
/// is, see Offsets::movable, and its own vertices are moved along their normals.
ShapedLevel shape_level(Stack const& stack, Offsets const& offsets, double d, double z, double resolution);

/// The same for contours whose exact places are given. `away[c]`: +1 where the material lies right of contour
/// c's elements, -1 where left; `tip` is the level's.
ShapedLevel shape_contours(std::vector<Contour> exact, std::vector<double> const& away, Vec2 tip,
                           double resolution);

/// The program's level nearest to a height.
Level const& nearest_level(Stack const& stack, double z);

/// The grid value next to x.
double on_digits(double x, double resolution);

} // namespace restep::finish
