#pragma once

#include "cutter/tool.hpp"

namespace restep::cutter {

/// Marks along the feed: what the teeth leave on the surface between two bites. Lengths in mm, angles in
/// degrees; theta is the slope of the surface from horizontal, 0 on a floor, 90 on a wall.

/// Radius of the curve that a tooth draws on the surface in the direction of a horizontal feed: r + a / sin
/// theta, formula (32); the tool's radius on a wall, infinite for a tool with a flat on a floor.
double feed_mark_radius(Tool const& tool, double theta);

/// The same on a wall whose finished contour is itself curved: 1/R = 1/Rt + 1/Rw outside a boss of radius Rw,
/// 1/Rt - 1/Rw inside a bore (infinite where the tool fills the bore).
double feed_mark_radius_on_contour(double tool_radius, double contour_radius, bool inside);

/// Height of the marks of equal bites `feed` on a curve of that radius: R - sqrt(R^2 - f^2/4), formula (31).
double feed_mark_height(double mark_radius, double feed);

enum class CutDirection : unsigned char { climb, conventional };

/// The same with the tool's advance during the bite: f^2 / (8 (Rt +- f z / pi)), + conventional, - climb. The
/// tooth draws a trochoid.
double trochoid_mark_height(double tool_radius, double feed_per_tooth, int flutes, CutDirection direction);

/// Height of the marks of a two-fluted tool with one tooth proud by `runout`, formula (33): it grows until
/// e = fz^2 / (2 R), beyond which only one tooth marks the surface and the height is that of the feed per
/// turn, `flutes` times fz.
double runout_mark_height(double mark_radius, double feed_per_tooth, int flutes, double runout);

/// The run-out beyond which only one tooth marks the surface, fz^2 / (2 R), mm.
double runout_limit(double mark_radius, double feed_per_tooth);

/// Corner radius that counts for the cusp between passes whose feed rises or falls by gamma degrees in the
/// plane of the surface: r + a sin^2 gamma / sin theta, formula (25). gamma 0 (constant height): r.
double effective_corner_radius(Tool const& tool, double theta, double gamma);

} // namespace restep::cutter
