#pragma once

#include "motion/machine.hpp"
#include "motion/step.hpp"

#include <cstdint>
#include <limits>
#include <string>

namespace restep::transform {

/// What limits a feed.
enum class LimitedBy : std::uint8_t { nothing, x, y, z, plunge, arc };

/// The highest speed along a path and what sets it.
struct FeedLimit {
  double speed = std::numeric_limits<double>::infinity(); ///< along the path, mm/min
  LimitedBy by = LimitedBy::nothing;
  double allowed = 0; ///< the component that sets it: its own limit, mm/min; for arcs the radius, mm

  void lower(double to, LimitedBy reason, double reason_value) {
    if (to < speed) *this = {to, reason, reason_value};
  }
};

/// For a straight move. An axis whose start is not known may carry the whole feed when `to` names it or the
/// program counts incrementally.
FeedLimit straight_limit(motion::Machine const& machine, motion::Vec3 from, motion::Vec3 to,
                         bool incremental);

/// For an arc or helix, at its worst point. `tool_radius` is taken off the radius under cutter compensation
/// (0 when not known): the tool's centre may run on the smaller circle.
FeedLimit arc_limit(motion::Machine const& machine, motion::Motion const& arc, double tool_radius);

/// For a feed along one axis in the given direction (-1 down, +1 up, 0 both).
FeedLimit axis_limit(motion::Machine const& machine, int axis, int direction);

/// The speed of a cut along its path, mm/min, whichever way its feed is meant (F, F * length, F * rpm); NaN
/// where the length that an inverse-time feed counts on is not known.
double feed_per_minute(motion::Motion const& cut, double rpm);

/// "Z feeds at most 500 mm/min"
std::string words_for(FeedLimit const& limit, motion::Units units);

} // namespace restep::transform
