#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/meridian.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"

#include <cstddef>
#include <functional>
#include <vector>

namespace restep::cutter {

/// Finds where a continuous excess(x) changes from at most 0 at `low` to above 0 at `high`, or the other way
/// round, and returns the end of the final bracket on which it is at most 0. The bracket is narrowed to
/// `resolution` where the function jumps, and as soon as the excess is 0 to eleven digits where it does not.
double last_within(std::function<double(double)> const& excess, double low, double high, double resolution);

/// One step after another along a meridian, each as large as its rule allows. The rule is a share of the
/// target (1: the target itself) and a largest stepdown (0: none); a share below 1 also leaves as much of the
/// bottom of the tool in reserve, one above 1 never lets a ridge stand.
class Marcher {
public:
  /// The meridian and the tool must outlive the marcher.
  Marcher(Meridian const& meridian, Tool const& tool, FinishTarget const& target, StepLimits const& limits);

  Meridian const& meridian() const { return meridian_; }
  double limit() const { return target_.limit; }
  double min_stepdown() const { return min_stepdown_; }

  /// The finish figure of a pair of levels at arc lengths s and e, mm.
  double figure(double s, double e) const;
  /// How much of the bottom of the tool the step uses up, see bottom_used.
  double bottom(double s, double e) const;

  /// How far the pair is outside the rule, relative: 0 on its bounds, -1 for no step at all.
  double excess(double s, double e, double share, double stepdown) const;
  /// The same for the step from s to the end of the meridian; also above 0 when the end lies within the rule
  /// but a place before it does not. -1 when s is the end.
  double excess_to_end(double s, double share, double stepdown) const;

  /// Positions from 0, at most `steps` steps, ending early at the end of the meridian.
  std::vector<double> march(double share, double stepdown, std::size_t steps) const;

private:
  /// A stretch of the meridian about a sharp convex joint (or an arc tighter than the corner radius) where
  /// the tool, with a corner radius, touches nothing that its neighbours leave standing: levels there are no
  /// use, and the march goes from one end of it to the other.
  struct Idle {
    double from = 0, to = 0;
  };
  void find_idle();
  bool is_idle(double s) const;
  /// The idle stretch with s in [from, to), or null.
  Idle const* idle_at(double s) const;

  double step_from(double s, double guess, double share, double stepdown) const;
  double least_end(double s, double stepdown) const;

  Meridian const& meridian_;
  Tool const& tool_;
  FinishTarget target_;
  double min_stepdown_;
  std::vector<Idle> idle_;
  double least_step_; ///< of arc length, so that no march is endless
};

} // namespace restep::cutter
