#pragma once

#include "finish/stack.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <string>
#include <vector>

namespace restep::finish {

/// Where a point of the contour is, as a function of the offset d. Exact offsets that keep their structure
/// move every vertex and every arc centre along a straight line; where the levels do not bear that out the
/// law is a table between the levels' own points.
class PointLaw {
public:
  /// Fits the law to a point's places at the given offsets. `tolerance` mm.
  static tl::expected<PointLaw, double> fit(std::vector<double> const& d, std::vector<Vec2> const& places,
                                            double tolerance);

  Vec2 at(double d) const;
  bool straight() const { return table_d_.empty(); }

private:
  Vec2 origin_{}, slope_{};
  std::vector<double> table_d_;
  std::vector<Vec2> table_;
};

/// A stack whose contours are offsets of each other.
struct Offsets {
  std::vector<double>
      d;             ///< per level, mm from the first level in cutting order, growing away from the material
  double spread = 0; ///< largest disagreement between elements of one level about its d, mm
  /// points[contour][i]: point i of the contour: 0 its first element's start, then the end of each element.
  std::vector<std::vector<PointLaw>> points;
  /// centres[contour][j]: centre of element j; unused for lines.
  std::vector<std::vector<PointLaw>> centres;
  double away = 1; ///< +1 when "away from the material" is left of the cutting direction, -1 when right, 0
                   ///< for a vertical wall
};

/// Measures the signed normal displacement of every level against the first and the law of every point. The
/// error says in the user's words why the contours are not offsets of each other. `resolution` is the
/// program's last digit, mm.
tl::expected<Offsets, std::string> measure_offsets(Stack const& stack, double resolution);

} // namespace restep::finish
