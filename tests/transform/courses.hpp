#pragma once

#include "steps.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

/// The courses of streams as dense points, by formulas of their own, to measure how far two are apart.
namespace restep::transform::testing {

/// Points of all cuts, no further apart than `spacing`, mm.
inline std::vector<Vec3> dense_course(std::vector<Step> const& steps, double spacing) {
  std::vector<Vec3> points;
  for (Step const& step : steps) {
    motion::Motion const* m = motion::motion_of(step);
    if (m == nullptr || !motion::is_cutting(*m)) continue;
    bool const arc = motion::is_arc(*m);
    int const u = m->plane == motion::Plane::xy ? 0 : m->plane == motion::Plane::zx ? 2 : 1;
    int const v = m->plane == motion::Plane::xy ? 1 : m->plane == motion::Plane::zx ? 0 : 2;
    double const r = std::hypot(m->from[u] - m->centre[u], m->from[v] - m->centre[v]);
    double const r_end = std::hypot(m->to[u] - m->centre[u], m->to[v] - m->centre[v]);
    double const begin = std::atan2(m->from[v] - m->centre[v], m->from[u] - m->centre[u]);
    double turn = std::atan2(m->to[v] - m->centre[v], m->to[u] - m->centre[u]) - begin;
    if (m->path == motion::PathKind::arc_ccw)
      while (turn <= 1e-9)
        turn += 2 * std::numbers::pi;
    else
      while (turn >= -1e-9)
        turn -= 2 * std::numbers::pi;
    double const length =
        arc ? std::hypot(r * turn, geometry::distance(m->from, m->to)) : geometry::distance(m->from, m->to);
    int const count = 1 + static_cast<int>(length / spacing);
    for (int i = 0; i <= count; ++i) {
      double const t = static_cast<double>(i) / count;
      Vec3 p = m->from + t * (m->to - m->from);
      if (arc) {
        double const radius = r + t * (r_end - r);
        p[u] = m->centre[u] + radius * std::cos(begin + t * turn);
        p[v] = m->centre[v] + radius * std::sin(begin + t * turn);
      }
      points.push_back(p);
    }
  }
  return points;
}

/// The largest distance of a point of `a` from the polyline `b`, mm, both walked in order: from one point to
/// the next the nearest place may go on by at most `reach` points.
inline double furthest(std::vector<Vec3> const& a, std::vector<Vec3> const& b, std::size_t reach = 400) {
  double worst = 0;
  std::size_t at = 0;
  for (Vec3 const p : a) {
    double best = std::numeric_limits<double>::infinity();
    std::size_t best_at = at;
    for (std::size_t i = at > 5 ? at - 5 : 0; i + 1 < b.size() && i < at + reach; ++i) {
      Vec3 const way = b[i + 1] - b[i], arm = p - b[i];
      double const square = dot(way, way);
      double const share = square > 0 ? std::clamp(dot(arm, way) / square, 0.0, 1.0) : 0;
      double const off = geometry::length(arm - share * way);
      if (off < best) {
        best = off;
        best_at = i;
      }
    }
    at = best_at;
    worst = std::max(worst, best);
  }
  return worst;
}

/// How far the cuts of two streams are apart at most, measured both ways, mm.
inline double courses_apart(std::vector<Step> const& a, std::vector<Step> const& b, double spacing = 0.01) {
  auto const p = dense_course(a, spacing), q = dense_course(b, spacing);
  return std::max(furthest(p, q), furthest(q, p));
}

inline std::size_t count_arcs(std::vector<Step> const& steps) {
  return static_cast<std::size_t>(std::count_if(steps.begin(), steps.end(), [](Step const& step) {
    motion::Motion const* m = motion::motion_of(step);
    return m != nullptr && motion::is_arc(*m);
  }));
}

} // namespace restep::transform::testing
