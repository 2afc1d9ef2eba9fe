#pragma once

#include "geometry/intersect.hpp"
#include "geometry/vec.hpp"

#include <optional>
#include <span>

namespace restep::geometry {

/// A circle fitted to points, with what it leaves unexplained, in the points' unit.
struct CircleFit {
  Circle circle;
  double rms = 0;     ///< root mean square of the distances of the points from the circle
  double largest = 0; ///< largest of them
};

/// A line fitted to points.
struct LineFit {
  Vec2 through{};   ///< centroid of the points
  Vec2 direction{}; ///< of unit length, x not negative (y positive when x is 0)
  double rms = 0;
  double largest = 0;
};

/// Circle fits. All need three points that do not lie on one line; nothing otherwise. They do not depend on
/// where the origin is and turn with the points.

/// Least sum of (d^2 - R^2)^2 over the points at distances d from the centre (Kasa, IEEE Trans. Instrum.
/// Meas. 25, 1976). Pulls short arcs towards small radii.
std::optional<CircleFit> fit_circle_kasa(std::span<Vec2 const> points);
/// Least sum of (d^2 - R^2)^2 / 4 R^2 (Pratt, SIGGRAPH 21(4), 1987, 145-152).
std::optional<CircleFit> fit_circle_pratt(std::span<Vec2 const> points);
/// Least sum of (d^2 - R^2)^2 / (4 mean d^2) (Taubin, IEEE PAMI 13, 1991).
std::optional<CircleFit> fit_circle_taubin(std::span<Vec2 const> points);
/// Least sum of squared distances (d - R)^2: damped Gauss-Newton from the Taubin fit.
std::optional<CircleFit> fit_circle(std::span<Vec2 const> points);

/// The line with the least sum of squared orthogonal distances (Pearson, Phil. Mag. 2, 1901, 559-572).
/// Nothing for fewer than two different points or points spread alike in all directions.
std::optional<LineFit> fit_line(std::span<Vec2 const> points);

/// The circle through three points; nothing when they lie on one line.
std::optional<Circle> circle_through(Vec2 a, Vec2 b, Vec2 c);

} // namespace restep::geometry
