#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/meridian.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace restep::cutter {

struct StepLimits {
  double max_stepdown = 0; ///< mm of z between neighbouring levels; 0: no limit
  double min_stepdown = 0; ///< mm; where it forbids the target the cusp is larger, see
                           ///< LevelPlan::target_missed. max_stepdown wins over it; floors have no stepdown
                           ///< and ignore it.
};

/// Positions along a meridian, first and last at its ends.
struct LevelPlan {
  std::vector<double> s;      ///< arc lengths, strictly rising, from 0 to meridian.length()
  double figure_max = 0;      ///< largest finish figure of any pair, mm
  double figure_min = 0;      ///< smallest of the pairs that the target rules (not the stepdown limit), mm
  std::size_t limited = 0;    ///< pairs whose step the stepdown limit rules
  bool target_missed = false; ///< min_stepdown (or max_levels) forbids the target somewhere
};

/// A figure up to this share above the target still counts as within it, so that a plan remade at its own
/// achieved figure comes out the same: a ten millionth of a nanometre at 1 um.
inline constexpr double target_slack = 1e-10;

/// No plan has more levels; where a target asks for more it is missed and the plan says so.
inline constexpr std::size_t max_levels = 100'000;

/// The greedy march from the top: every step the largest whose figure stays within the target, whose stepdown
/// stays within the limit, and whose ridge the tool's bottom still cuts. The last position is the end of the
/// meridian, whatever is left for it. For a round and a fillet these are the closed-form walks of the
/// reference, section 1.6.
std::vector<double> march_levels(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                                 StepLimits const& limits);

/// The least number of levels from the top to the bottom of the meridian whose every pair stays within the
/// target and the stepdown limit, then spread so that the pairs the target rules have equal figures.
///
/// March: the largest step from s whose figure is within the target (root of the exact figure; the first
/// crossing, found by growing the step and stopping at every joint, so that a non-monotone figure across a
/// joint cannot be jumped over). The number N is that of the greedy march, which is least because a larger
/// start never ends earlier.
/// Spread: the remainder goes first into the steps that the stepdown limit rules (they have no cusp to
/// spoil), down to the largest stepdown among the others, then into an equal, lower figure for all.
LevelPlan plan_levels(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                      StepLimits const& limits);

/// The figures of a given set of levels (tip positions from the top down).
struct LevelFigures {
  double figure_min = 0, figure_max = 0; ///< by target kind, mm
  double cusp_min = 0, cusp_max = 0; ///< mm, peak to valley; pairs whose places on the meridian leave no cusp
                                     ///< (on a wall, on a floor) are left out of the minimum
  double ra_max = 0;                 ///< mm
  double stepdown_min = 0, stepdown_max = 0;
};
LevelFigures measure_levels(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                            std::vector<Vec2> const& levels);

/// The largest constant stepdown, a whole part of the meridian's height, that keeps every pair within the
/// target and the largest stepdown, and how many levels that takes, first and last included (as many as
/// LevelPlan::s has entries). Both 0 when no constant stepdown does (on a floor, or beyond max_levels). Of
/// several meridians over the same heights: that keeps it on all of them.
struct ConstantStep {
  double stepdown = 0;    ///< mm
  std::size_t levels = 0; ///< first and last included
};
ConstantStep constant_stepdown(std::span<Meridian const* const> meridians, Tool const& tool,
                               FinishTarget const& target, StepLimits const& limits);
ConstantStep constant_stepdown(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                               StepLimits const& limits);

} // namespace restep::cutter
