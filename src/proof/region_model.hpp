#pragma once

#include "cutter/tool.hpp"
#include "motion/step.hpp"
#include "proof/spot.hpp"

#include <cstddef>
#include <span>

namespace restep::proof {

/// Where a new pass cuts deepest, straight down, below everything that the program's own path had cut, mm.
struct RegionMeasure {
  Spot beyond;
  std::size_t points = 0; ///< of the height field
};

/// Cuts the program's own path and the new one in a height field over the whole region that the new one can
/// reach, and compares them: what sections at the contours cannot see, a link across a boss or a lead through
/// a wall that is no part of the pass, cuts where the program had never been.
///
/// `near` (mm) is how far off the program's own cut the new one may lie in any direction: its cusps, digits
/// and chords. The own path is cut with a tool that is larger by so much all round. Only what is cut below
/// `top` (mm) is compared. Lines, leads, links and rapids cut; motions with an unknown end are passed over.
/// The field is exact at its points, which stand a third of the tool's reach apart unless the region is very
/// large.
RegionMeasure measure_region(std::span<motion::Step const> before, std::span<motion::Step const> after,
                             cutter::Tool const& tool, double near, double top);

} // namespace restep::proof
