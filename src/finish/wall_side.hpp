#pragma once

#include "finish/raster.hpp"
#include "finish/rising_spiral.hpp"
#include "finish/spiral.hpp"
#include "finish/stack.hpp"
#include "motion/step.hpp"

#include <span>

namespace restep::finish {

/// Writes into the cuts of a pass's contours on which side of their course the finished wall stands
/// (Motion::wall). Known where deeper levels stand farther away from the material; on a vertical wall from
/// the ways in and out at the height of the cut, which can only come from the side without a wall. Left off
/// where neither tells, or where they disagree.
void mark_wall(std::span<motion::Step> operation, Stack const& stack);

/// The same for a spiral that was understood.
void mark_wall(std::span<motion::Step> operation, SpiralPass const& pass);

/// The same for one that rises.
void mark_wall(std::span<motion::Step> operation, RisingSpiral const& pass);

/// Lines over a surface have no wall beside them.
inline void mark_wall(std::span<motion::Step>, RasterPass const&) {}

} // namespace restep::finish
