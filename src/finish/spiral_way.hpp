#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/meridian.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"
#include "finish/spiral_course.hpp"

#include <cstddef>
#include <functional>
#include <vector>

namespace restep::finish {

/// What a new spiral must leave as the program has it.
struct OwnSpiral {
  std::function<double(double)> s; ///< arc length on the meridian after so many turns
  double turns = 0;
  bool begins_level = false; ///< a turn at one height lies above its first
  bool open = false;         ///< no turn at one height lies below its last
};

/// A whole spiral: the turns that are kept and the course between them.
///
/// The last turn of a spiral without a closing turn is the border of what the program has cut: nothing may be
/// cut below it, and it is kept. The course ends where it begins, one turn above the end. At a place x of a
/// turn (0 ... 1) the course's last turn stands F (1 - x) above that place and the kept one x P below it, P
/// being what that falls: together at most the larger of F and P. Where the kept turn falls by more than one
/// step, turns lead to places between, each of them everywhere as many of the steps between as of the whole
/// fall, and from its end back to where it began.
///
/// A first turn with nothing above it is kept where it falls less than a new one would: what stands above it
/// is not the spiral's to leave.
class SpiralWay {
public:
  static SpiralWay plan(cutter::Meridian const& meridian, cutter::Tool const& tool,
                        cutter::FinishTarget const& target, cutter::StepLimits const& limits,
                        OwnSpiral const& own);

  double turns() const { return course_end() + static_cast<double>(last_turns()); }
  /// Arc length on the meridian. Where one turn leads back to the beginning of the next, that of its end.
  double s(double t) const;

  /// Turns kept at the beginning: none or one.
  double first_kept() const { return first_kept_; }
  /// Turns to the end of the course.
  double course_end() const { return first_kept_ + course_.turns(); }
  /// Turns behind the course, the kept one being the last; none where a closing turn follows.
  std::size_t last_turns() const { return last_steps_.empty() ? 0 : last_steps_.size() - 1; }
  bool target_missed() const { return target_missed_; }

private:
  // Steps from the end of the course, whole and parts, and the other way round.
  double steps_to(double s) const;
  double place_after(double steps) const;

  OwnSpiral own_;
  double first_kept_ = 0;
  double course_from_ = 0, course_to_ = 0; ///< arc lengths
  SpiralCourse course_;
  std::vector<double> last_steps_; ///< arc lengths from the end of the course to that of the meridian
  bool target_missed_ = false;
};

} // namespace restep::finish
