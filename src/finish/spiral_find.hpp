#pragma once

#include "finish/contour.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace restep::finish {

/// Steps of an operation that may be a spiral: feed motions that never rise, and the turn at constant height
/// in which they end.
struct SpiralRun {
  std::size_t first = 0; ///< the first motion that falls
  std::size_t last = 0;  ///< the last motion before the closing turn; the last that falls where there is none
  std::vector<Segment> loop; ///< the closing turn, once round; empty where the run ends without one
  std::size_t loop_last = 0; ///< its last step; `last` where there is none
  bool goes_round = false;   ///< several turns run beside each other
};

/// True for a feed motion in the XY plane that moves sideways and falls.
bool is_falling_cut(motion::Motion const& motion);
/// The same of one that rises.
bool is_rising_cut(motion::Motion const& motion);

/// All places of the operation where a contour cut at one height is reached by a way that falls without a
/// break, in order: most are leads and links, unrolling tells. Also ways that fall round and round beside
/// themselves, each turn within `max_shift` mm of the last, and end without a turn at one height; a helix
/// about as narrow as a tool of that size is a way in and none of them.
std::vector<SpiralRun> find_spiral_runs(std::span<motion::Step const> operation, double max_shift);

/// True where the motions before a spiral's first go once round at the height at which it begins, and end
/// there.
bool begins_level(std::span<motion::Step const> operation, std::size_t first);

} // namespace restep::finish
