#pragma once

#include "motion/machine.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <vector>

namespace restep::motion {

/// Motion time with limited acceleration: trapezoid per motion, corner speeds from the rounding-arc bound,
/// arcs limited by sqrt(a rho), one backward and one forward pass over a sliding window (formulas (40), (41),
/// (43), (44) in kinematics.hpp). Dwells, tool changes and spindle starts count; what waits for people (M0)
/// does not. Unknown positions count as zero length, unlimited rapids and feeds of 0 as no time. Straight
/// moves that go on in the same direction at the same speed are one move. Jerk is not in it: a control that
/// limits it takes longer, by a / J for each move from rest to rest that reaches its speed (formula (42)).
class TimeModel {
public:
  explicit TimeModel(Machine const& machine);

  void add(Step const& step);

  /// Seconds of everything added so far, as if the program stopped here; more may be added afterwards.
  double seconds() const;

private:
  /// A stretch with one speed limit. mm, mm/s, mm/s^2; acceleration is infinite where no limit is known.
  struct Segment {
    double length = 0, speed = 0, acceleration = 0;
    double entry_limit = 0; ///< square of the highest speed at its start
    Vec3 start_direction{}, end_direction{};
    double half_turn_sine = 0; ///< of the corner at its start
    double length_before = 0;  ///< of the segment before that corner
    bool straight = true;
  };
  struct Planned {
    double seconds = 0;
    double exit_speed = 0;
  };

  Machine machine_;
  double corner_tolerance_;
  bool stop_at_corners_ = false;
  std::vector<Segment> window_;
  mutable std::vector<double> entry_; ///< squares of the planned entry speeds; kept for its memory
  std::vector<Event> cycle_events_;   ///< the parts of one hole; kept for its memory
  double entry_speed_ = 0;
  double seconds_ = 0;
  double spindle_rpm_ = 0;
  int tool_ = -1;
  Rotation rotation_ = Rotation::stop;

  void add(Event const& event);
  void add(Motion const& motion);
  void rapid_straight(Vec3 from, Vec3 to);
  void add_straight(Vec3 travel, double length, double speed);
  void add_segment(Segment segment);
  double feed_speed(Motion const& motion, double length) const;
  double corner_limit(Segment const& before, Segment const& segment) const;
  Planned plan(std::size_t count) const;
  void commit(std::size_t count);
  void stop();
};

} // namespace restep::motion
