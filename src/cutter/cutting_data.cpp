#include "cutter/cutting_data.hpp"

#include "geometry/vec.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::cutter {

using geometry::radians;

double cutting_speed(double diameter, double spindle_speed) {
  return std::numbers::pi * diameter * spindle_speed / 1000;
}

double spindle_speed(double cutting_speed, double diameter) {
  return 1000 * cutting_speed / (std::numbers::pi * diameter);
}

double table_feed(double spindle_speed, int flutes, double feed_per_tooth) {
  return spindle_speed * flutes * feed_per_tooth;
}

double feed_per_tooth(double table_feed, double spindle_speed, int flutes) {
  return table_feed / (spindle_speed * flutes);
}

double effective_diameter(Tool const& tool, double depth) {
  double const r = tool.corner_radius;
  if (depth >= r) return tool.diameter;
  return 2 * tool.flat_radius() + 2 * std::sqrt(depth * (2 * r - depth));
}

double effective_diameter_tilted(Tool const& ball, double depth, double beta) {
  double const reach = radians(beta) + std::acos(1 - 2 * depth / ball.diameter);
  return ball.diameter * std::sin(std::min(reach, std::numbers::pi / 2));
}

double generating_diameter(Tool const& tool, double theta) {
  return 2 * (tool.flat_radius() + tool.corner_radius * std::sin(radians(theta)));
}

double chip_thinning(double diameter, double width) {
  double const share = width / diameter;
  return share < 0.5 ? 2 * std::sqrt(share * (1 - share)) : 1;
}

double mean_chip(double diameter, double width) {
  double const share = std::min(width / diameter, 1.0);
  return 2 * share / std::acos(1 - 2 * share);
}

double corner_thinning(Tool const& tool, double depth) {
  double const r = tool.corner_radius;
  if (depth >= r) return 1;
  double const cosine = 1 - depth / r;
  return std::sqrt(1 - cosine * cosine);
}

double arc_feed_factor(double wall_radius, double tool_radius, bool inside) {
  return (inside ? wall_radius - tool_radius : wall_radius + tool_radius) / wall_radius;
}

double width_on_arc(double wall_radius, double tool_radius, double stock, bool inside) {
  // ae = (Rw^2 - (Rw - e)^2) / (2 (Rw - Rt)) inside, ((Rw + e)^2 - Rw^2) / (2 (Rw + Rt)) outside.
  return inside ? stock * (2 * wall_radius - stock) / (2 * (wall_radius - tool_radius))
                : stock * (2 * wall_radius + stock) / (2 * (wall_radius + tool_radius));
}

} // namespace restep::cutter
