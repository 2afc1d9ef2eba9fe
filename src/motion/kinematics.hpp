#pragma once

#include <algorithm>
#include <cmath>
#include <limits>

/// The kinematics of one move with limited acceleration: plain formulas, no state. Lengths mm, speeds mm/s,
/// accelerations mm/s^2 (infinite where no limit is known), angles in radians. The bracketed numbers are
/// those of the derivations; they are the usual equations of uniformly accelerated motion.
namespace restep::motion {

/// (41) Time for a length L entered at v0 and left at v1, never faster than v, |acceleration| = a:
///   vp = min(v, sqrt((2 a L + v0^2 + v1^2) / 2))
///   T  = (2 vp - v0 - v1) / a + (L - (2 vp^2 - v0^2 - v1^2) / (2 a)) / vp
/// v1 must be reachable: |v1^2 - v0^2| <= 2 a L. An unlimited speed at unlimited acceleration takes no time.
inline double seconds_over(double L, double v0, double v1, double v, double a) {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  double const ends = v0 * v0 + v1 * v1;
  double const vp2 = std::min(v * v, a * L + ends / 2);
  double const vp = std::sqrt(vp2);
  double const level = std::max(0.0, L - (2 * vp2 - ends) / (2 * a));
  // Chosen from among results, and not on the way there: so many can be worked on at once.
  double const limited = (2 * vp - v0 - v1) / a + level / vp;
  return L > 0 ? (a < infinity ? limited : L / v) : 0;
}

/// (40) From rest to rest: d >= v^2 / a: T = d / v + v / a, else T = 2 sqrt(d / a).
inline double rest_to_rest_seconds(double d, double v, double a) {
  return seconds_over(d, 0, 0, v, a);
}

/// (43) The square of the highest speed on a circle of radius rho: v^2 = a rho.
inline double circle_speed_squared(double rho, double a) {
  return rho > 0 ? a * rho : 0;
}

/// (44) The square of the highest speed past a corner that turns by alpha, given s = sin(alpha / 2), when the
/// path may miss the corner by delta on a rounding arc of radius rho:
///   rho = delta cos(alpha / 2) / (1 - cos(alpha / 2)),  rho tan(alpha / 2) <= half of the shorter neighbour
///   v^2 = a rho
/// With 1 - c = s^2 / (1 + c) nothing cancels at small angles. Straight on is not limited.
inline double corner_speed_squared(double s, double delta, double shorter, double a) {
  if (s <= 0) return std::numeric_limits<double>::infinity();
  if (s >= 1) return 0;
  double const c = std::sqrt(1 - s * s);
  double const by_tolerance = delta * c * (1 + c) / (s * s);
  double const by_length = shorter * c / (2 * s);
  return circle_speed_squared(std::min(by_tolerance, by_length), a);
}

} // namespace restep::motion
