#pragma once

#include "geometry/vec.hpp"
#include "motion/stretch.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>

namespace restep::motion {

/// A way with one speed limit. mm, mm/s, mm/s^2; the acceleration is infinite where no limit is known.
struct Segment {
  double length = 0, speed = 0, acceleration = 0;
  Vec3 start_direction{}, end_direction{};
  bool straight = true;
};

/// Plans the speeds of segments that follow each other, and counts the seconds they take.
///
/// Where two segments meet, the corner limits the speed. A backward pass over a window of them finds how fast
/// each may be entered so that everything behind it can still be braked for, a forward pass how fast it can
/// be entered at all.
///
/// The window holds 512 segments. When it is full, all but the last 128 are planned as if the machine stopped
/// at the window's end. That is exact unless braking from the speed that far ahead of it needs more than
/// these 128, that is unless they are together shorter than v^2 / (2 a): at 50 mm/s and 200 mm/s^2, 6.25 mm,
/// or chords below 0.05 mm. There the result is too long, never too short.
class SpeedWindow {
public:
  /// How far the path may miss a corner, mm, and whether the machine stops at each.
  void set_corners(double tolerance, bool stop) {
    corner_tolerance_ = tolerance;
    stop_at_corners_ = stop;
  }

  /// False when it only made the last one longer, or has no speed.
  bool add(Segment const& segment);
  /// Straight segments, one for each way that has a length: `speeds` their limits, `limits` those of the
  /// axes' accelerations (0: none is known).
  void add(Ways const& ways, std::size_t count, double const* speeds, Vec3 const& limits);

  /// The machine stands still.
  void stop();

  /// Of everything that was added, as if the machine stopped here; more may be added afterwards.
  double seconds() const { return seconds_ + plan(size_).seconds; }

private:
  static constexpr std::size_t longest = 512;
  static constexpr std::size_t ahead = 128; ///< segments that are looked at before others leave the window
  /// Loops over columns take whole blocks of this length, so that nothing is left over where several are
  /// worked on at once.
  static constexpr std::size_t lanes = 8;
  static constexpr std::size_t in_lanes(std::size_t count) { return (count + lanes - 1) / lanes * lanes; }
  using Column = std::array<double, longest + lanes>;

  /// In columns, so that passes over the window work on several segments at once.
  Column length_{}, speed_{}, acceleration_{};
  Column entry_limit_{}; ///< square of the highest speed at a segment's start
  std::size_t size_ = 0;

  // Of the last segment.
  Vec3 direction_{}; ///< at its end
  bool straight_ = true;
  double half_turn_sine_ = 0; ///< of the corner at its start
  double length_before_ = 0;  ///< of the segment before that corner

  double corner_tolerance_ = 0;
  bool stop_at_corners_ = false;
  double entry_speed_squared_ = 0; ///< of the window
  double seconds_ = 0;             ///< of what has left the window

  struct Planned {
    double seconds = 0;
    double exit_speed_squared = 0;
  };
  struct Corners;

  void push(double length, double speed, double acceleration, double entry_limit);
  void push(double const* lengths, double const* speeds, Corners const& corners, std::size_t first,
            std::size_t end);
  double corner_limit(std::size_t before, Segment const& segment, double half_turn_sine,
                      double length_before) const;
  Planned plan(std::size_t count) const;
  void commit(std::size_t count);
};

/// min over the axes of limit / |share|: how much of a path quantity keeps every axis inside its own limit.
/// A limit of 0 is no limit.
inline double along(Vec3 limits, Vec3 share) {
  double least = std::numeric_limits<double>::infinity();
  for (int axis = 0; axis < 3; ++axis)
    if (limits[axis] > 0 && share[axis] != 0) least = std::min(least, limits[axis] / std::abs(share[axis]));
  return least;
}

} // namespace restep::motion
