#include "cutter/marks.hpp"

#include "geometry/constants.hpp"
#include "geometry/vec.hpp"

#include <cmath>
#include <numbers>

namespace restep::cutter {

using geometry::radians;

namespace {

using geometry::infinite;

/// a weight / sin theta, with a ball (a = 0) staying at 0 on a floor.
double torus_part(Tool const& tool, double theta, double weight) {
  double const a = tool.flat_radius() * weight;
  if (a == 0) return 0;
  double const sine = std::sin(radians(theta));
  return sine > 0 ? a / sine : infinite;
}

} // namespace

double feed_mark_radius(Tool const& tool, double theta) {
  return tool.corner_radius + torus_part(tool, theta, 1);
}

double feed_mark_radius_on_contour(double tool_radius, double contour_radius, bool inside) {
  double const curvature = 1 / tool_radius + (inside ? -1 : 1) / contour_radius;
  return curvature > 0 ? 1 / curvature : infinite;
}

double feed_mark_height(double mark_radius, double feed) {
  if (std::isinf(mark_radius)) return 0;
  // h = R - sqrt(R^2 - f^2/4) = (f^2/4) / (R + sqrt(R^2 - f^2/4)), without cancellation.
  double const quarter = feed * feed / 4;
  return quarter / (mark_radius + std::sqrt(mark_radius * mark_radius - quarter));
}

double trochoid_mark_height(double tool_radius, double feed_per_tooth, int flutes, CutDirection direction) {
  double const advance = feed_per_tooth * flutes / std::numbers::pi;
  double const radius =
      direction == CutDirection::conventional ? tool_radius + advance : tool_radius - advance;
  return feed_per_tooth * feed_per_tooth / (8 * radius);
}

double runout_limit(double mark_radius, double feed_per_tooth) {
  return feed_per_tooth * feed_per_tooth / (2 * mark_radius);
}

double runout_mark_height(double mark_radius, double feed_per_tooth, int flutes, double runout) {
  // h = fz^2/(8R) (1 + 2 R e / fz^2)^2 up to the limit, fn^2/(8R) with fn = z fz above it.
  double const square = feed_per_tooth * feed_per_tooth;
  if (runout >= runout_limit(mark_radius, feed_per_tooth))
    return flutes * flutes * square / (8 * mark_radius);
  double const growth = 1 + 2 * mark_radius * runout / square;
  return square / (8 * mark_radius) * growth * growth;
}

double effective_corner_radius(Tool const& tool, double theta, double gamma) {
  double const sine = std::sin(radians(gamma));
  return tool.corner_radius + torus_part(tool, theta, sine * sine);
}

} // namespace restep::cutter
