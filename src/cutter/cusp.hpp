#pragma once

#include "cutter/meridian.hpp"
#include "cutter/tool.hpp"
#include "geometry/vec.hpp"

namespace restep::cutter {

/// The four ways two silhouettes can meet (reference formulas (5) to (8)).
enum class CuspCase : unsigned char { arc_arc, flat_side, arc_side, flat_arc, none };

struct CuspPoint {
  CuspCase kind = CuspCase::none;
  Vec2 at{}; ///< in the frame of the corner-arc centres: (d, z + r); valid unless kind is none
};

/// Where the silhouettes of two successive levels meet. `upper` and `lower` are corner-arc centres, (d, z +
/// r). A step with no horizontal part, or with one towards the material, leaves no cusp (none). For a ball
/// the arc goes on past the tip. Exact; formulas (5)-(8). The flat is taken as long enough, see leaves_ridge.
CuspPoint cusp_point(double corner_radius, bool ball, Vec2 upper, Vec2 lower);

/// Where the outlines of a tool of any shape meet that stands at two tip positions (d, z), see cusp_point.
CuspPoint outlines_meet(Tool const& tool, Vec2 upper, Vec2 lower);

/// Both tip positions on one sharp edge: the arc of the tips about an edge has rho = r (or less, from a
/// program that rounds it tighter; or a little more, by its digits), every position touches the edge itself
/// and nothing is left between them.
bool on_one_edge(Meridian const& meridian, double corner_radius, Vec2 upper, Vec2 lower);

/// How far the bottom of the upper tool is used up by the step, as a share of its width: above 1 the two
/// silhouettes do not meet under the tool and a ridge as high as the stock is left between the levels. A flat
/// reaches 2 (Rt - r) beyond its corner-arc centre, so that on a stair du <= 2 Rt - r; a ball 2 r. `upper`
/// and `lower` are tip positions or corner-arc centres alike.
double bottom_used(Tool const& tool, Vec2 upper, Vec2 lower);

/// True when a ridge is left between the two levels whatever their cusp, see bottom_used.
bool leaves_ridge(Tool const& tool, Vec2 upper, Vec2 lower);

/// Cusp height between two tip positions on a meridian, measured along the normal of the finished surface,
/// mm. Zero when the step leaves no cusp. `upper` and `lower` are tip positions (d, z).
double cusp_height(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower);

/// The same, but measured from the two valleys as they really are: the height of the cusp less the mean of
/// the distances of the two levels from the meridian. A level that stands off the meridian by a rounding
/// error moves valley and peak alike and leaves this figure as it is. Peak to valley, the roughness of the
/// pair.
double cusp_peak_to_valley(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower);

} // namespace restep::cutter
