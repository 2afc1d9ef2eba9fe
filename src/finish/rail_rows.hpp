#pragma once

#include "finish/rails.hpp"
#include "finish/shape.hpp"

#include <tl/expected.hpp>

#include <string>
#include <vector>

namespace restep::finish {

/// One level in every section of a surface told by rails: in the vertical plane normal to the surface's
/// contour at the level's height, where the level's own path crosses it.
struct RailRow {
  std::vector<Vec2> tips;        ///< (u, z) in the frame of the rail's meridian
  std::vector<RailPlace> places; ///< in plan, where the tip is; and the section's direction to the air
};

/// The row of contours that are cut at the height z. Fails in words where they do not pass a section.
tl::expected<RailRow, std::string> row_across(RailSurface const& surface,
                                              std::vector<Contour> const& contours, double z);

/// The contours of a program's level with their vertices on digits of `resolution` mm, each coordinate on the
/// nearest.
std::vector<Contour> contours_on_digits(std::vector<Contour> contours, double resolution);

/// The contours of a new level as they will be cut: loops with the place where the cut begins on its digits.
std::vector<Contour> contours_as_cut(ShapedLevel const& level);

} // namespace restep::finish
