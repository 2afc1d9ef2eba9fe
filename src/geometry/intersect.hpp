#pragma once

#include "geometry/vec.hpp"

#include <optional>
#include <vector>

namespace restep::geometry {

/// A circle in a plane.
struct Circle {
  Vec2 centre{};
  double radius = 0;
};

/// Where the unbounded lines through a1, a2 and b1, b2 meet; nothing when they are parallel (the sine of the
/// angle between them is below 1e-12) or one has no direction.
std::optional<Vec2> line_line(Vec2 a1, Vec2 a2, Vec2 b1, Vec2 b2);

/// Where the unbounded line through a and b meets a circle, in the direction from a to b. A line that passes
/// within `tolerance` of touching, on either side, touches: one point.
std::vector<Vec2> line_circle(Vec2 a, Vec2 b, Circle const& circle, double tolerance = 1e-9);

/// Where two circles meet: the point to the left of the direction from the first centre to the second comes
/// first. Circles within `tolerance` of touching, outside or inside, touch: one point. Nothing for
/// concentric circles.
std::vector<Vec2> circle_circle(Circle const& a, Circle const& b, double tolerance = 1e-9);

} // namespace restep::geometry
