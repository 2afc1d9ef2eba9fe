#pragma once

#include "cutter/tool.hpp"

namespace restep::cutter {

/// Speeds, feeds and chips. Lengths in mm, cutting speed in m/min, spindle speed in 1/min, feed in mm/min,
/// angles in degrees.

/// vc = pi D n / 1000, formula (34).
double cutting_speed(double diameter, double spindle_speed);
/// n = 1000 vc / (pi D), formula (34).
double spindle_speed(double cutting_speed, double diameter);
/// vf = n z fz, formula (34).
double table_feed(double spindle_speed, int flutes, double feed_per_tooth);
/// fz = vf / (n z), formula (34).
double feed_per_tooth(double table_feed, double spindle_speed, int flutes);

/// The diameter that cuts at the depth ap: 2 sqrt(ap (D - ap)) for a ball (35), (D - 2r) + 2 sqrt(ap (2r -
/// ap)) for a bull up to ap = r, D beyond and for a flat.
double effective_diameter(Tool const& tool, double depth);
/// The same for a ball whose axis is tilted by beta degrees: D sin(beta + arccos(1 - 2 ap / D)), at most D.
double effective_diameter_tilted(Tool const& ball, double depth, double beta);
/// The diameter on which the finished surface of slope theta is generated, 2 (a + r sin theta), formula (36):
/// 0 for a ball on a floor, where it rubs.
double generating_diameter(Tool const& tool, double theta);

/// Thickest chip per feed per tooth at the width of cut ae, formula (37): 2 sqrt((ae/D)(1 - ae/D)) below half
/// the diameter, 1 beyond.
double chip_thinning(double diameter, double width);
/// Mean chip per feed per tooth, formula (37): (2 ae/D) / phi, cos phi = 1 - 2 ae/D.
double mean_chip(double diameter, double width);
/// Thickest chip per feed per tooth at the depth ap of a rounded corner: sin kappa, cos kappa = 1 - ap/r; 1
/// at ap >= r and for a sharp corner.
double corner_thinning(Tool const& tool, double depth);

/// Speed of the tool centre over speed along the finished wall of radius Rw, formula (38): (Rw - Rt)/Rw
/// inside, (Rw + Rt)/Rw outside.
double arc_feed_factor(double wall_radius, double tool_radius, bool inside);
/// Width of cut on a wall of finished radius Rw with the radial stock e, formula (39).
double width_on_arc(double wall_radius, double tool_radius, double stock, bool inside);

} // namespace restep::cutter
