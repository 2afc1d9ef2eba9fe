#pragma once

#include "geometry/vec.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <utility>
#include <vector>

namespace restep::finish {

/// An unbounded line or a circle in the (d, z) plane: what a meridian's piece is cut from.
struct Curve {
  bool is_arc = false;
  geometry::Vec2 point{};     ///< a point of the line, or the centre
  geometry::Vec2 direction{}; ///< unit, lines only
  double rho = 0;             ///< arcs only
  bool upright = false;       ///< a line that is vertical and stays so when it is fitted together with others
};

double distance_to(Curve const& curve, geometry::Vec2 p);
geometry::Vec2 nearest_point(Curve const& curve, geometry::Vec2 p);
double largest_distance(Curve const& curve, std::span<geometry::Vec2 const> points);
double sum_of_squares(Curve const& curve, std::span<geometry::Vec2 const> points);

/// Orthogonal least-squares line through two or more points.
Curve fit_line(std::span<geometry::Vec2 const> points);
/// The vertical line nearest to the points: a wall.
Curve fit_wall(std::span<geometry::Vec2 const> points);
/// Geometric least-squares circle; none when the points are too straight or the fit does not converge.
std::optional<Curve> fit_arc(std::span<geometry::Vec2 const> points);

/// Where two curves meet, nearest to `near`: the tangent point when they touch within the tolerance (they
/// need not quite reach each other), else the nearest intersection; none when they stay apart.
std::optional<geometry::Vec2> meeting_point(Curve const& a, Curve const& b, geometry::Vec2 near,
                                            double tolerance);

/// True when two curves run into each other smoothly near `near`, as far as the levels can tell: the distance
/// between them at their closest is a few tolerances and the touching point lies within a spacing of `near`.
bool nearly_tangent(Curve const& a, Curve const& b, geometry::Vec2 near, double spacing, double tolerance);

/// Fits the curves to their points once more, all together, with the named pairs tangent to each other. The
/// curves are left as they were when the common fit does not explain the points within the tolerance (the
/// pairs are then corners after all).
void fit_together(std::vector<Curve>& curves, std::vector<std::span<geometry::Vec2 const>> const& points,
                  std::vector<std::pair<std::size_t, std::size_t>> const& tangent, double tolerance);

} // namespace restep::finish
