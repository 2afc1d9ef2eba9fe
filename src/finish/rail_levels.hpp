#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"
#include "finish/rail_figures.hpp"
#include "finish/rails.hpp"

#include <tl/expected.hpp>

#include <optional>
#include <string>
#include <vector>

namespace restep::finish {

/// What new levels are asked for.
struct RailRequest {
  cutter::FinishTarget target;
  cutter::StepLimits limits;
  double resolution = 0.001; ///< mm, last digit that is written
  std::optional<bool> even;  ///< asks for an even or an odd number of levels where the direction alternates
};

/// Common levels for all rails, from the top down.
struct RailPlan {
  std::vector<RailLevel> levels;
  RailFigures figures;
  bool least_forbids = false; ///< the least stepdown forbids the target somewhere
};

/// The least number of levels, each already on the control's digits, whose every figure is within the target
/// in every rail's section. `stay` are the program's levels that remain, first and last among them.
///
/// A march: from each level the deepest next one whose written coordinates keep every rail within the target.
/// The exact step (rail_march) tells about where it is; there levels are shaped, written and measured. Where
/// no level near there keeps the target, the one that comes nearest to it is taken: the figures then say what
/// the digits hold. What remains at each level that stays is spread by marching to a lower figure.
/// Fails in words where a level's contours miss a section.
tl::expected<RailPlan, std::string> plan_rail_levels(RailSurface const& surface, cutter::Tool const& tool,
                                                     RailRequest const& request,
                                                     std::vector<RailLevel> const& stay);

} // namespace restep::finish
