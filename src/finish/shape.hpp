#pragma once

#include "finish/offsets.hpp"

#include <cstddef>
#include <vector>

namespace restep::finish {

/// A level that is to be cut: its tip position on the meridian and the plan points as they will be written.
struct ShapedLevel {
  Vec2 tip{};           ///< (d, z) that the contours stand for: d exact, z as written
  double displaced = 0; ///< mean displacement of the written contours away from the material, mm
  std::vector<std::vector<Vec2>>
      points; ///< per contour: start, then the end of each element, on the control's digits
  std::vector<std::vector<Vec2>> centres; ///< per contour, per element; exact, unused for lines
  /// Per contour, as the program's level nearest in height cuts it: where a loop begins and ends, as written,
  /// and the unit directions of the cut at its start and end.
  std::vector<Vec2> starts, start_directions, end_directions;
  double inward =
      0; ///< largest displacement of any element towards the material from its exact place, mm, >= 0
  double outward = 0; ///< the same away from the material, >= 0
};

/// Shapes the contours of a level at offset d and height z on digits of `resolution` mm. Every corner goes to
/// that one of its four neighbouring grid points that displaces the elements it joins least along their
/// normals.
/// A loop begins where the loop of the program's level nearest in height does.
ShapedLevel shape_level(Stack const& stack, Offsets const& offsets, double d, double z, double resolution);

/// The program's level nearest to a height.
Level const& nearest_level(Stack const& stack, double z);

/// The grid value next to x.
double on_digits(double x, double resolution);

} // namespace restep::finish
