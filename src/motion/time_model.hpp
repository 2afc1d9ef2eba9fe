#pragma once

#include "motion/machine.hpp"
#include "motion/step.hpp"

#include <vector>

namespace restep::motion {

/// Motion time with limited acceleration: trapezoid per motion, corner speeds from the rounding-arc bound,
/// arcs limited by sqrt(a rho), one backward and one forward pass over a sliding window (reference: formulas
/// (40), (41), (43), (44) of the usual kinematics; see time_model.cpp). Dwells, tool changes and spindle
/// starts count. Unknown positions count as zero length.
class TimeModel {
public:
  explicit TimeModel(Machine const& machine);

  void add(Step const& step);

  /// Seconds of everything added so far (plans what is still in the window to a stop).
  double seconds();

private:
  struct Segment {
    double length, speed, acceleration, entry_limit;
  };
  Machine machine_;
  std::vector<Segment> window_;
  Vec3 last_direction_{};
  double entry_speed_ = 0;
  double seconds_ = 0;
  double spindle_rpm_ = 0;
  int tool_ = -1;
  bool turning_ = false;

  void plan(bool to_a_stop);
  void add_segment(double length, double speed, double acceleration, Vec3 start_direction, Vec3 end_direction,
                   double entry_limit);
};

} // namespace restep::motion
