#pragma once

#include "motion/machine.hpp"
#include "motion/speed_window.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"

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
  void add(Motion const& motion);
  void add(Stretch const& stretch);

  /// Seconds of everything added so far, as if the program stopped here; more may be added afterwards.
  double seconds() const { return seconds_ + window_.seconds(); }

private:
  Machine machine_;
  SpeedWindow window_;
  std::vector<Event> cycle_events_; ///< the parts of one hole; kept for its memory
  double seconds_ = 0;              ///< without axes moving
  double spindle_rpm_ = 0;
  int tool_ = -1;
  Rotation rotation_ = Rotation::stop;

  void add(Event const& event);
  void rapid_straight(Vec3 from, Vec3 to);
  void add_straight(Vec3 travel, double length, double speed);
  void add_segment(Segment segment);
  double feed_speed(Motion const& motion, double length) const;
  double reading_limit(double length) const;
  void stop() { window_.stop(); }
};

} // namespace restep::motion
