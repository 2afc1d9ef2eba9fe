#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"
#include "finish/rails.hpp"

#include <cstddef>
#include <vector>

namespace restep::finish {

/// Common heights for all rails, from the top down, first and last those of the surface.
struct RailPlan {
  std::vector<double> z;
  bool target_missed = false; ///< the least stepdown (or a floor) forbids the target somewhere
};

/// The finish figures of given heights. The figure of a pair of levels is that of the rail where it is
/// largest.
struct RailFigures {
  double figure_max = 0;             ///< mm, by target kind
  double cusp_min = 0, cusp_max = 0; ///< mm; the smallest of the pairs that the target rules
  double ra_max = 0;
  double stepdown_min = 0, stepdown_max = 0;
  std::vector<double> cusps; ///< mm, the largest between each level and the next
};

/// The greedy march over all rails at once: from each height the deepest next one at which no rail's figure
/// exceeds the target, with the exact cusp of the tool in each rail's section. The number of levels is that
/// of the march; what remains at the end is spread, first into the steps that the stepdown limit rules, then
/// into an equal, lower figure at the worst place of every pair.
RailPlan plan_rail_levels(RailSurface const& surface, cutter::Tool const& tool,
                          cutter::FinishTarget const& target, cutter::StepLimits const& limits);

RailFigures measure_rail_levels(RailSurface const& surface, cutter::Tool const& tool,
                                cutter::FinishTarget const& target, std::vector<double> const& z);

} // namespace restep::finish
