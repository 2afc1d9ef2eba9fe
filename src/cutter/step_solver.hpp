#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/meridian.hpp"

#include <cstddef>
#include <vector>

namespace restep::cutter {

struct StepLimits {
  double max_stepdown = 0; ///< mm of z between neighbouring levels; 0: no limit
  double min_stepdown =
      0; ///< mm; where it forbids the target the cusp is larger, see LevelPlan::target_missed
};

/// Positions along a meridian, first and last at its ends.
struct LevelPlan {
  std::vector<double> s;      ///< arc lengths, strictly rising, from 0 to meridian.length()
  double figure_max = 0;      ///< largest finish figure of any pair, mm
  double figure_min = 0;      ///< smallest of the pairs that the target rules (not the stepdown limit), mm
  std::size_t limited = 0;    ///< pairs whose step the stepdown limit rules
  bool target_missed = false; ///< min_stepdown forbids the target somewhere
};

/// The least number of levels from the top to the bottom of the meridian whose every pair stays within the
/// target and the stepdown limit, then spread so that the pairs the target rules have equal figures.
///
/// March: the largest step from s whose figure is within the target (bisection on the exact cusp; the first
/// crossing, found by growing the step, so that a non-monotone figure across a joint cannot be jumped over).
/// The number N is that of the greedy march, which is least because a larger start never ends earlier.
/// Spread: the remainder goes first into the steps that the stepdown limit rules (they have no cusp to
/// spoil), then into an equal, lower figure for all.
LevelPlan plan_levels(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                      StepLimits const& limits);

/// The figures of a given set of levels (tip positions from the top down).
struct LevelFigures {
  double figure_min = 0, figure_max = 0; ///< by target kind, mm
  double cusp_min = 0, cusp_max = 0; ///< mm, peak to valley; pairs without a cusp are left out of the minimum
  double ra_max = 0;                 ///< mm
  double stepdown_min = 0, stepdown_max = 0;
};
LevelFigures measure_levels(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                            std::vector<Vec2> const& levels);

/// The largest constant stepdown that keeps every pair within the target, and how many levels that takes.
struct ConstantStep {
  double stepdown = 0;
  std::size_t levels = 0;
};
ConstantStep constant_stepdown(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                               StepLimits const& limits);

} // namespace restep::cutter
