#include "finish/rail_meridian.hpp"

#include "finish/fit_meridian.hpp"
#include "finish/smooth_curve.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

namespace restep::finish {

namespace {

using cutter::Piece;
using geometry::Vec2;

// A joint that turns by less than this is none that the surface has but one that the fit left; an edge turns
// by more.
constexpr double tangent_joint = 0.004; // radians

// One arc on from `at` in a direction through levels beyond; nothing when it does not explain them.
std::optional<Piece> reach(Vec2 at, Vec2 direction, std::vector<Vec2> const& levels, double tolerance) {
  Piece const piece = tangent_arc(at, direction, levels.back());
  cutter::Meridian const curve({piece});
  for (Vec2 const p : levels)
    if (std::abs(curve.signed_distance(p)) > tolerance) return std::nullopt;
  return piece;
}

Piece backwards(Piece piece) {
  std::swap(piece.from, piece.to);
  piece.convex = cross(piece.to - piece.from, piece.centre - piece.from) < 0;
  return piece;
}

// Lines and arcs in one piece; none where fit_meridian leaves sections apart.
std::optional<cutter::Meridian> lines_and_arcs(std::vector<Vec2> const& levels, double tolerance) {
  auto const fit = fit_meridian(levels, tolerance);
  if (!fit) return std::nullopt;
  cutter::Meridian whole;
  std::vector<Vec2> above, below;
  for (MeridianSection const& section : fit->sections) {
    if (!section.meridian.pieces().empty()) {
      if (!whole.pieces().empty()) return std::nullopt;
      whole = section.meridian;
      continue;
    }
    for (std::size_t k = section.first; k <= section.last; ++k)
      (whole.pieces().empty() ? above : below).push_back(levels[k]);
  }
  std::vector<Piece> pieces = whole.pieces();
  if (pieces.empty()) return std::nullopt;
  if (!above.empty()) {
    std::reverse(above.begin(), above.end());
    auto const up = reach(whole.at(0), -whole.tangent(0), above, tolerance);
    if (!up) return std::nullopt;
    pieces.insert(pieces.begin(), backwards(*up));
  }
  if (!below.empty()) {
    auto const down = reach(pieces.back().to, whole.tangent(whole.length()), below, tolerance);
    if (!down) return std::nullopt;
    pieces.push_back(*down);
  }
  return cutter::Meridian(std::move(pieces));
}

double sharpest_joint(cutter::Meridian const& curve) {
  double const beside = 1e-9 * curve.length();
  double sharpest = 0;
  for (std::size_t i = 1; i + 1 < curve.starts().size(); ++i) {
    double const s = curve.starts()[i];
    sharpest = std::max(sharpest, std::abs(cross(curve.tangent(s - beside), curve.tangent(s + beside))));
  }
  return sharpest;
}

RailMeridian measured(cutter::Meridian curve, std::vector<Vec2> const& levels) {
  RailMeridian found{std::move(curve), 0};
  for (Vec2 const p : levels)
    found.residual = std::max(found.residual, std::abs(found.curve.signed_distance(p)));
  return found;
}

bool falls(cutter::Meridian const& curve, double tolerance) {
  return std::all_of(curve.pieces().begin(), curve.pieces().end(), [&](Piece const& p) {
    return p.to.y <= p.from.y + 1e-9 && p.to.x >= p.from.x - tolerance;
  });
}

} // namespace

std::optional<RailMeridian> fit_rail_meridian(std::vector<Vec2> const& levels, double tolerance) {
  std::optional<RailMeridian> exact;
  if (auto curve = lines_and_arcs(levels, tolerance); curve && falls(*curve, tolerance))
    if (RailMeridian found = measured(std::move(*curve), levels); found.residual <= 1.5 * tolerance)
      exact = std::move(found);
  if (exact && sharpest_joint(exact->curve) < tangent_joint) return exact;
  if (auto curve = smooth_curve(levels, tolerance)) return measured(std::move(*curve), levels);
  return exact;
}

} // namespace restep::finish
