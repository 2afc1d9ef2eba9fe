#pragma once

#include "finish/raster_find.hpp"
#include "finish/raster_surface.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <span>
#include <string>
#include <variant>
#include <vector>

namespace restep::finish {

/// A line that the program does not have: its place across, the strip it lies in (between two rows of the
/// surface that follow each other) and the parts of the strip's pieces in which heights are known.
struct NewLine {
  double v = 0;
  std::size_t strip = 0;
  std::vector<Vec2> trusted;
};

/// A row of the surface that stays as it is, or a new line.
using PlannedLine = std::variant<std::size_t, NewLine>;

/// Tip positions (u, v) in a pass's frame between which the program's own lines alone cut.
struct KeptPlace {
  Vec2 low{}, high{};
};

/// How the program cuts its lines.
struct RasterOrder {
  bool falling = false;     ///< towards falling v: the last row is cut first
  bool alternating = false; ///< the direction of the cut changes from line to line
};

/// Writes the lines, given in rising v, in cutting order: rows as the program has them, new lines along the
/// surface on points like those of the nearer row, links after the program's own. Points are rounded to
/// `resolution` in X and Y and lie on the surface where they are rounded to. The first and the last row must
/// be among the lines. What cannot be linked is an error in words.
tl::expected<std::vector<motion::Step>, std::string>
assemble_lines(std::span<motion::Step const> operation, RasterPass const& pass, RasterSurface const& surface,
               std::vector<PlannedLine> const& lines, RasterOrder order, double resolution);

} // namespace restep::finish
