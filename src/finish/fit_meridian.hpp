#pragma once

#include "cutter/meridian.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace restep::finish {

/// Levels first ... last (counted from the top) and the curve that explains them. A section of one level has
/// no pieces.
struct MeridianSection {
  std::size_t first = 0, last = 0;
  cutter::Meridian meridian;
};

/// A stack's meridian. Between two sections the surface is not known (a ledge, a step, too few levels): the
/// step from the last level of the one to the first level of the next is left as the program has it.
struct MeridianFit {
  std::vector<MeridianSection> sections; ///< from the top down, covering all levels
  double residual = 0;                   ///< largest distance of a level from its section's curve, mm
  /// Height of the pass's top level where it was put above the program's first: the first section reaches up
  /// to it.
  std::optional<double> extended_to{};

  bool in_one_piece() const { return sections.size() == 1; }
};

/// The fewest lines and arcs that explain the levels (d, z), given from the top down, within `tolerance` mm.
///
/// Groups of three or more levels are explained by an orthogonal line, of four or more by a circle (geometric
/// fit); the longest reach first, then the borders between neighbouring groups are moved to where the squared
/// residuals are least. Where neighbours run into each other they are fitted once more together as tangent
/// (Levenberg-Marquardt) and join at the tangent point; otherwise they join at their intersection between the
/// two levels; where they do not meet the meridian is cut into sections. The error says why nothing explains
/// the levels.
tl::expected<MeridianFit, std::string> fit_meridian(std::vector<geometry::Vec2> const& levels,
                                                    double tolerance);

} // namespace restep::finish
