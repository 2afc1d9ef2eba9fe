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

Vec2 turned(Vec2 v, double angle) {
  double const c = std::cos(angle);
  double const s = std::sin(angle);
  return {c * v.x - s * v.y, s * v.x + c * v.y};
}

// On from the end of `last`, which runs in `direction` there, through the levels beyond: one arc that begins
// where, about the end, it explains them best; `last` is made longer or shorter to that place. Nothing when
// no place does.
std::optional<Piece> reach(Piece& last, Vec2 direction, std::vector<Vec2> const& levels, double tolerance) {
  constexpr int places = 20; // on either side of the end
  bool const arc = last.shape == Piece::Shape::arc;
  Vec2 const arm = arc ? last.to - last.centre : Vec2{};
  // Turning left or right on the way in hand.
  double const bend = arc ? std::copysign(1 / last.rho, cross(arm, direction)) : 0;
  double const gap = std::min(distance(last.to, levels.front()), 0.5 * distance(last.from, last.to));
  std::optional<Piece> best;
  double least = tolerance;
  Vec2 const end = last.to;
  for (int i = 0; i <= 2 * places; ++i) {
    // The end itself first, then ever farther off.
    int const away = (i + 1) / 2;
    double const along = (i % 2 == 0 ? -1.0 : 1.0) * away * gap / places;
    Vec2 const at = arc ? last.centre + turned(arm, bend * along) : end + along * direction;
    Piece const piece = tangent_arc(at, turned(direction, bend * along), levels.back());
    cutter::Meridian const curve({piece});
    double worst = 0;
    for (Vec2 const p : levels)
      worst = std::max(worst, std::abs(curve.signed_distance(p)));
    if (worst >= least || (best && worst > 0.9 * least)) continue;
    least = worst;
    best = piece;
  }
  if (best) last.to = best->from;
  return best;
}

Piece backwards(Piece piece) {
  std::swap(piece.from, piece.to);
  piece.convex = cross(piece.to - piece.from, piece.centre - piece.from) < 0;
  return piece;
}

// Lines and arcs in one piece; none where fit_meridian leaves sections apart.
std::optional<cutter::Meridian> lines_and_arcs(std::vector<Vec2> const& levels, double tolerance,
                                               bool& reached_on) {
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
  reached_on = !above.empty() || !below.empty();
  std::vector<Piece> pieces = whole.pieces();
  if (pieces.empty()) return std::nullopt;
  if (!above.empty()) {
    // The same upwards, told backwards.
    std::reverse(above.begin(), above.end());
    Piece first = backwards(pieces.front());
    auto const up = reach(first, -whole.tangent(0), above, tolerance);
    if (!up) return std::nullopt;
    pieces.front() = backwards(first);
    pieces.insert(pieces.begin(), backwards(*up));
  }
  if (!below.empty()) {
    auto const down = reach(pieces.back(), whole.tangent(whole.length()), below, tolerance);
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
  bool reached_on = false;
  if (auto curve = lines_and_arcs(levels, tolerance, reached_on); curve && falls(*curve, tolerance))
    if (RailMeridian found = measured(std::move(*curve), levels); found.residual <= 1.5 * tolerance)
      exact = std::move(found);
  if (exact && !reached_on && sharpest_joint(exact->curve) < tangent_joint) return exact;
  if (auto curve = smooth_curve(levels, tolerance)) return measured(std::move(*curve), levels);
  return exact;
}

} // namespace restep::finish
