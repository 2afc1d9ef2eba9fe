#pragma once

#include "finish/spiral_base.hpp"
#include "finish/spiral_find.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace restep::finish {

/// A point of the spiral where one of its motions ends.
struct SpiralStation {
  double turn = 0;      ///< turns since the spiral's beginning, whole and parts
  Vec2 tip{};           ///< (d, z): d grows away from the material, 0 on the closing turn
  std::size_t step = 0; ///< the motion that ends here; for the first station the one that begins here
};

/// A spiral laid out along its contour.
struct UnrolledSpiral {
  SpiralBase base;
  std::vector<Segment> loop;           ///< the closing turn: the contour of `base`
  std::size_t first = 0, last = 0;     ///< motions of the spiral without its lead-in
  std::size_t closing_last = 0;        ///< last step of the closing turn
  std::vector<SpiralStation> stations; ///< the beginning, then the end of each motion
  double turns = 0;                    ///< from the beginning to the closing turn
  double away = 0; ///< +1: away from the material is to the left of the course; -1: to the right; 0: wall

  double side() const { return away == 0 ? 1 : away; }
  /// u of the contour (0: the beginning of the closing turn) after so many turns.
  double u(double turn) const { return (turn - turns) * base.length(); }
  /// (d, z) after so many turns, by the stations about it.
  Vec2 at(double turn) const;
};

struct UnrollLimits {
  double max_shift = 3;      ///< mm: how far the contour may move sideways within one turn
  double min_turns = 2;      ///< fewer are a way in
  double resolution = 0.001; ///< the program's last digit, mm
};

/// Follows a run backwards from its closing turn, round and round, as far as it goes along the contour, and
/// leaves out the ramp by which it is entered (steeper, or coming in from the air). No value: the run is no
/// spiral. The error says in the user's words why a spiral is not understood.
std::optional<tl::expected<UnrolledSpiral, std::string>>
unroll(std::span<motion::Step const> operation, SpiralRun const& run, UnrollLimits const& limits);

} // namespace restep::finish
