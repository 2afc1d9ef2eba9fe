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

/// A point of the spiral where one of its motions ends, or is parted.
struct SpiralStation {
  double turn = 0;      ///< turns since the spiral's beginning, whole and parts
  Vec2 tip{};           ///< (d, z): d grows away from the material, 0 on the closing turn
  std::size_t step = 0; ///< the motion that ends here; for the first station the one that begins here
  double share = 1;     ///< of that motion, where it is parted here
};

/// A spiral laid out along its contour.
struct UnrolledSpiral {
  SpiralBase base;
  std::vector<Segment> loop;           ///< the closing turn, or one told by the others: the contour of `base`
  std::size_t first = 0, last = 0;     ///< motions of the spiral without its lead-in
  std::size_t closing_last = 0;        ///< last step of the closing turn; `last` where there is none
  std::vector<SpiralStation> stations; ///< the beginning, then the end of each motion
  double turns = 0;                    ///< from the beginning to the closing turn, or to the end
  double away = 0; ///< +1: away from the material is to the left of the course; -1: to the right; 0: wall

  bool open = false;         ///< ends without a closing turn
  bool begins_level = false; ///< a turn at one height ends where it begins

  double side() const { return away == 0 ? 1 : away; }
  /// u of the contour (0: the beginning of the closing turn) after so many turns.
  double u(double turn) const { return (turn - turns) * base.length(); }
  /// (d, z) after so many turns, by the stations about it.
  Vec2 at(double turn) const;
  /// Puts a station there; where one stands within `near` mm it is taken as being there.
  void part_at(double turn, double near);
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

/// The same along a contour that is known otherwise, on which the run ends where it ends.
std::optional<tl::expected<UnrolledSpiral, std::string>> unroll_along(std::span<motion::Step const> operation,
                                                                      SpiralRun const& run,
                                                                      SpiralBase const& base,
                                                                      UnrollLimits const& limits);

} // namespace restep::finish
