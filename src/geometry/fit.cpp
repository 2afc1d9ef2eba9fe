#include "geometry/fit.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace restep::geometry {

namespace {

/// Moments of the points about their centroid, with w = x^2 + y^2, each a mean; lengths scaled so that the
/// mean of w is 1.
struct Moments {
  Vec2 centroid{};
  double scale = 0;
  double xx = 0, yy = 0, xy = 0, xw = 0, yw = 0, ww = 0;
};

Moments moments_of(std::span<Vec2 const> points) {
  Moments m;
  double const n = static_cast<double>(points.size());
  for (Vec2 const p : points)
    m.centroid = m.centroid + p / n;
  double spread = 0;
  for (Vec2 const p : points)
    spread += dot(p - m.centroid, p - m.centroid) / n;
  m.scale = std::sqrt(spread);
  if (!(m.scale > 0)) return m;
  for (Vec2 const p : points) {
    Vec2 const q = (p - m.centroid) / m.scale;
    double const w = dot(q, q);
    m.xx += q.x * q.x / n;
    m.yy += q.y * q.y / n;
    m.xy += q.x * q.y / n;
    m.xw += q.x * w / n;
    m.yw += q.y * w / n;
    m.ww += w * w / n;
  }
  return m;
}

CircleFit judged(Circle const& circle, std::span<Vec2 const> points) {
  CircleFit fit{circle, 0, 0};
  for (Vec2 const p : points) {
    double const off = distance(p, circle.centre) - circle.radius;
    fit.rms += off * off / static_cast<double>(points.size());
    fit.largest = std::max(fit.largest, std::abs(off));
  }
  fit.rms = std::sqrt(fit.rms);
  return fit;
}

/// Scaled points on a line leave no second extent.
bool on_one_line(Moments const& m) {
  return !(m.scale > 0) || m.xx * m.yy - m.xy * m.xy < 1e-22;
}

/// The centre for a root eta of the characteristic polynomial: from the normal equations
/// (xx - eta) a + xy b = xw/2, xy a + (yy - eta) b = yw/2; `more` is what the fit adds to R^2 beyond
/// a^2 + b^2 + mean w.
std::optional<CircleFit> circle_at(Moments const& m, double eta, double more, std::span<Vec2 const> points) {
  double const determinant = (m.xx - eta) * (m.yy - eta) - m.xy * m.xy;
  if (!(std::abs(determinant) > 1e-300)) return std::nullopt;
  Vec2 const centre{(m.xw * (m.yy - eta) - m.yw * m.xy) / (2 * determinant),
                    (m.yw * (m.xx - eta) - m.xw * m.xy) / (2 * determinant)};
  double const radius = std::sqrt(std::max(0.0, dot(centre, centre) + m.xx + m.yy + more));
  return judged({m.centroid + m.scale * centre, m.scale * radius}, points);
}

/// Smallest root at or above 0 of c0 + c1 x + c2 x^2 + c3 x^3 + c4 x^4, by Newton's method from 0. The
/// polynomials of the two fits come from below 0 and rise ever more slowly up to that root, so that no step
/// goes beyond it but by rounding.
double smallest_root(std::array<double, 5> const& c) {
  double x = 0;
  for (int i = 0; i < 100; ++i) {
    double const value = c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * c[4])));
    double const slope = c[1] + x * (2 * c[2] + x * (3 * c[3] + x * 4 * c[4]));
    if (slope == 0) break;
    double const next = x - value / slope;
    if (!(next > x) || !std::isfinite(next)) break;
    if (next - x <= 1e-16 * next) return next;
    x = next;
  }
  return x;
}

} // namespace

std::optional<CircleFit> fit_circle_kasa(std::span<Vec2 const> points) {
  if (points.size() < 3) return std::nullopt;
  Moments const m = moments_of(points);
  if (on_one_line(m)) return std::nullopt;
  return circle_at(m, 0, 0, points);
}

std::optional<CircleFit> fit_circle_pratt(std::span<Vec2 const> points) {
  if (points.size() < 3) return std::nullopt;
  Moments const m = moments_of(points);
  if (on_one_line(m)) return std::nullopt;
  // det(M - eta N) with Pratt's constraint B^2 + C^2 - 4 A D = 1, mean w = z = xx + yy:
  // eta is the smallest root at or above 0 of 4 eta^4 + A2 eta^2 + A1 eta + A0.
  double const z = m.xx + m.yy, cov = m.xx * m.yy - m.xy * m.xy, var = m.ww - z * z;
  double const a2 = 4 * cov - 3 * z * z - m.ww;
  double const a1 = var * z + 4 * cov * z - m.xw * m.xw - m.yw * m.yw;
  double const a0 = m.xw * (m.xw * m.yy - m.yw * m.xy) + m.yw * (m.yw * m.xx - m.xw * m.xy) - var * cov;
  double const eta = smallest_root({a0, a1, a2, 0, 4});
  return circle_at(m, eta, 2 * eta, points);
}

std::optional<CircleFit> fit_circle_taubin(std::span<Vec2 const> points) {
  if (points.size() < 3) return std::nullopt;
  Moments const m = moments_of(points);
  if (on_one_line(m)) return std::nullopt;
  // The same with Taubin's constraint 4 A^2 z + B^2 + C^2 = 1 about the centroid:
  // 4 z eta^3 + A2 eta^2 + A1 eta + A0.
  double const z = m.xx + m.yy, cov = m.xx * m.yy - m.xy * m.xy, var = m.ww - z * z;
  double const a3 = 4 * z;
  double const a2 = -3 * z * z - m.ww;
  double const a1 = var * z + 4 * cov * z - m.xw * m.xw - m.yw * m.yw;
  double const a0 = m.xw * (m.xw * m.yy - m.yw * m.xy) + m.yw * (m.yw * m.xx - m.xw * m.xy) - var * cov;
  double const eta = smallest_root({a0, a1, a2, a3, 0});
  return circle_at(m, eta, 0, points);
}

std::optional<CircleFit> fit_circle(std::span<Vec2 const> points) {
  auto const start = fit_circle_taubin(points);
  if (!start) return std::nullopt;
  Moments const m = moments_of(points);
  // Scaled about the centroid; unknowns centre (a, b) and R, residual d - R, gradient (-n.x, -n.y, -1) with n
  // the unit vector from the centre to the point. R is eliminated: R = mean d for every centre.
  Vec2 centre = (start->circle.centre - m.centroid) / m.scale;
  auto const evaluate = [&](Vec2 c, double& radius) {
    double sum = 0, squares = 0;
    double const n = static_cast<double>(points.size());
    for (Vec2 const p : points)
      sum += distance((p - m.centroid) / m.scale, c) / n;
    for (Vec2 const p : points) {
      double const off = distance((p - m.centroid) / m.scale, c) - sum;
      squares += off * off;
    }
    radius = sum;
    return squares;
  };
  double radius = 0;
  double cost = evaluate(centre, radius);
  double damping = 1e-6;
  for (int i = 0; i < 500 && damping < 1e12; ++i) {
    Vec2 mean{};
    double const n = static_cast<double>(points.size());
    for (Vec2 const p : points)
      mean = mean + normalized((p - m.centroid) / m.scale - centre) / n;
    double aa = 0, bb = 0, ab = 0, ga = 0, gb = 0;
    for (Vec2 const p : points) {
      Vec2 const arm = (p - m.centroid) / m.scale - centre;
      Vec2 const g = normalized(arm) - mean;
      double const off = length(arm) - radius;
      aa += g.x * g.x;
      bb += g.y * g.y;
      ab += g.x * g.y;
      ga += g.x * off;
      gb += g.y * off;
    }
    double const da = aa * (1 + damping), db = bb * (1 + damping), determinant = da * db - ab * ab;
    if (!(determinant > 0)) break;
    Vec2 const step{(ga * db - gb * ab) / determinant, (gb * da - ga * ab) / determinant};
    double next_radius = 0;
    double const next_cost = evaluate(centre + step, next_radius);
    if (next_cost <= cost) {
      centre = centre + step;
      radius = next_radius;
      cost = next_cost;
      damping = std::max(damping / 10, 1e-15);
      if (length(step) <= 1e-15 * (1 + length(centre))) break;
    } else {
      damping *= 10;
    }
  }
  return judged({m.centroid + m.scale * centre, m.scale * radius}, points);
}

std::optional<LineFit> fit_line(std::span<Vec2 const> points) {
  if (points.size() < 2) return std::nullopt;
  Moments const m = moments_of(points);
  if (!(m.scale > 0)) return std::nullopt;
  // Principal axis of the covariance: tan 2 alpha = 2 xy / (xx - yy).
  double const difference = m.xx - m.yy;
  if (std::hypot(difference, 2 * m.xy) < 1e-12) return std::nullopt;
  double const alpha = std::atan2(2 * m.xy, difference) / 2;
  LineFit fit;
  fit.through = m.centroid;
  fit.direction = {std::cos(alpha), std::sin(alpha)};
  // Points along an axis lie along it to the last digit.
  if (m.xx == 0) fit.direction = {0, 1};
  if (m.yy == 0) fit.direction = {1, 0};
  for (Vec2 const p : points) {
    double const off = cross(fit.direction, p - fit.through);
    fit.rms += off * off / static_cast<double>(points.size());
    fit.largest = std::max(fit.largest, std::abs(off));
  }
  fit.rms = std::sqrt(fit.rms);
  return fit;
}

std::optional<Circle> circle_through(Vec2 a, Vec2 b, Vec2 c) {
  Vec2 const u = b - a, v = c - a;
  double const twice = 2 * cross(u, v);
  double const size = length(u) * length(v);
  if (!(std::abs(twice) > 1e-12 * size)) return std::nullopt;
  double const uu = dot(u, u), vv = dot(v, v);
  Vec2 const arm{(v.y * uu - u.y * vv) / twice, (u.x * vv - v.x * uu) / twice};
  return Circle{a + arm, length(arm)};
}

} // namespace restep::geometry
