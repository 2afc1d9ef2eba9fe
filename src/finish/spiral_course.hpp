#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/meridian.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"

#include <cstddef>
#include <vector>

namespace restep::finish {

/// How far down the meridian a spiral stands after so many turns.
///
/// Let F(s) be the place on the meridian one largest step below s: the largest whose cusp stays within the
/// target and whose stepdown within the limit. A spiral leaves the same cusp everywhere when
///   s(t + 1) = F(s(t)) for every t,
/// so that its first turn, s(t) = t F(0) for 0 <= t <= 1, decides about all others. The number of turns is
/// the least, f + n, with which F, a little smaller than allowed, ends at the end of the meridian:
///   s(f) = f F(0),  F^n(s(f)) = length of the meridian,
/// f being the part of a turn by which the spiral begins before the place where it ends.
class SpiralCourse {
public:
  static SpiralCourse plan(cutter::Meridian const& meridian, cutter::Tool const& tool,
                           cutter::FinishTarget const& target, cutter::StepLimits const& limits, double part);

  double turns() const { return part_ + static_cast<double>(steps_); }
  /// Arc length on the meridian; never falls with t. 0 at t = 0, the whole length at t = turns().
  double s(double t) const;
  bool target_missed() const { return target_missed_; }

private:
  struct Rail {
    double part = 0;       ///< of the turn
    std::vector<double> s; ///< after part, part + 1, ... turns
  };
  double part_ = 0;
  std::size_t steps_ = 0;
  double length_ = 0;
  bool target_missed_ = false;
  std::vector<Rail> rails_; ///< by rising part, from 0 to 1
};

} // namespace restep::finish
