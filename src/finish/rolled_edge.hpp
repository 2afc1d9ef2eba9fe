#pragma once

#include "cutter/step_solver.hpp"
#include "finish/fit_meridian.hpp"

namespace restep::finish {

/// Lets the tool roll about the sharp edges of a meridian.
///
/// Where a line turns steeper on its way down (a chamfer over a wall, a draft over a steeper one) the surface
/// has a sharp edge, and the tip follows an arc of the corner radius r about it that is tangent to both lines
/// and begins r tan(phi / 2) before the point where they meet, phi being the turn. Programs with few levels
/// show only one or two of them on that arc, which alone explain nothing. The arc is put in where all levels
/// beside it lie within `tolerance` mm of it and of the lines, and sections parted by those levels become
/// one.
///
/// `levels` (d, z) from the top down, as the meridian was fitted to.
void roll_over_edges(MeridianFit& fit, std::vector<geometry::Vec2> const& levels, double corner_radius,
                     double tolerance);

/// Levels as cutter::plan_levels gives them, with one at either end of every arc on which the tool rolls
/// about a sharp edge. There a digit in d does least harm: on the arc itself it takes the tool off the edge
/// or into it, and what stands between two levels that miss the edge is many times the cusp planned.
cutter::LevelPlan plan_between_edges(cutter::Meridian const& meridian, cutter::Tool const& tool,
                                     cutter::FinishTarget const& target, cutter::StepLimits const& limits);

} // namespace restep::finish
