#include "finish/rail_meridian.hpp"

#include "finish/fit_meridian.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

namespace restep::finish {

namespace {

using cutter::Piece;
using geometry::Vec2;

// A piece with the unit directions of its ends.
struct Way {
  Piece piece;
  Vec2 start{}, end{};
};

Vec2 turned(Vec2 v, double angle) {
  double const c = std::cos(angle);
  double const s = std::sin(angle);
  return {c * v.x - s * v.y, s * v.x + c * v.y};
}

// The arc from p in the direction t to q (a line where it would be too flat): it turns by twice the angle
// between t and the chord.
Way tangent_arc(Vec2 p, Vec2 t, Vec2 q) {
  constexpr double flat = 1e-7;
  Vec2 const chord = q - p;
  double const half = std::atan2(cross(t, chord), dot(t, chord));
  Way way{{}, t, turned(t, 2 * half)};
  way.piece.from = p;
  way.piece.to = q;
  if (std::abs(half) < flat) {
    way.start = way.end = normalized(chord);
    return way;
  }
  way.piece.shape = Piece::Shape::arc;
  way.piece.rho = length(chord) / (2 * std::sin(std::abs(half)));
  way.piece.convex = half < 0;
  way.piece.centre = p + std::copysign(way.piece.rho, half) * left_normal(t);
  return way;
}

Piece backwards(Piece piece) {
  std::swap(piece.from, piece.to);
  return piece;
}

std::pair<Vec2, Vec2> end_tangents(cutter::Meridian const& meridian) {
  return {meridian.tangent(0), meridian.tangent(meridian.length())};
}

// Two arcs with equal arms d from p0 in the direction t0 to p1 in the direction t1:
// 2 (1 - t0.t1) d^2 + 2 v.(t0 + t1) d - v.v = 0, v = p1 - p0.
void join(std::vector<Piece>& pieces, Vec2 p0, Vec2 t0, Vec2 p1, Vec2 t1) {
  Vec2 const v = p1 - p0;
  if (length(v) < 1e-9) return;
  double const a = 2 * (1 - dot(t0, t1));
  double const b = dot(v, t0 + t1);
  double const vv = dot(v, v);
  double const d = vv / (b + std::sqrt(b * b + a * vv));
  Vec2 const middle = 0.5 * (p0 + p1 + d * (t0 - t1));
  Way const first = tangent_arc(p0, t0, middle);
  pieces.push_back(first.piece);
  pieces.push_back(tangent_arc(middle, first.end, p1).piece);
}

// On from the end of the pieces to levels beyond: by one arc if that explains them, else from level to level.
void reach(std::vector<Piece>& pieces, Vec2 direction, std::vector<Vec2> const& levels, double tolerance) {
  if (levels.empty()) return;
  Vec2 at = pieces.back().to;
  Way const whole = tangent_arc(at, direction, levels.back());
  cutter::Meridian const one({whole.piece});
  if (std::all_of(levels.begin(), levels.end(),
                  [&](Vec2 p) { return std::abs(one.signed_distance(p)) <= tolerance; })) {
    pieces.push_back(whole.piece);
    return;
  }
  for (Vec2 const level : levels) {
    Way const way = tangent_arc(at, direction, level);
    pieces.push_back(way.piece);
    at = level;
    direction = way.end;
  }
}

bool falls(std::vector<Piece> const& pieces, double tolerance) {
  return std::all_of(pieces.begin(), pieces.end(), [&](Piece const& p) {
    return p.to.y <= p.from.y + 1e-9 && p.to.x >= p.from.x - tolerance;
  });
}

std::optional<RailMeridian> in_one_piece(std::vector<Vec2> const& levels, double tolerance) {
  auto const fit = fit_meridian(levels, tolerance);
  if (!fit) return std::nullopt;
  std::vector<Piece> pieces;
  std::vector<Vec2> above, alone; // levels without a piece: before the first one, and since the last one
  Vec2 direction{};
  for (MeridianSection const& section : fit->sections) {
    if (section.meridian.pieces().empty()) {
      for (std::size_t k = section.first; k <= section.last; ++k)
        (pieces.empty() ? above : alone).push_back(levels[k]);
      continue;
    }
    auto const [first, last] = end_tangents(section.meridian);
    Vec2 const begin = section.meridian.at(0);
    if (pieces.empty() && !above.empty()) {
      // The same upwards, told backwards.
      std::reverse(above.begin(), above.end());
      Piece start;
      start.from = start.to = begin;
      std::vector<Piece> up{start};
      reach(up, -first, above, tolerance);
      for (std::size_t i = up.size(); i-- > 1;)
        pieces.push_back(backwards(up[i]));
      // Told the other way round an arc to the left turns right.
      for (Piece& piece : pieces)
        piece.convex = cross(piece.to - piece.from, piece.centre - piece.from) < 0;
    } else if (!pieces.empty()) {
      reach(pieces, direction, alone, tolerance);
      if (!alone.empty()) {
        cutter::Meridian const so_far(pieces);
        direction = so_far.tangent(so_far.length());
      }
      alone.clear();
      join(pieces, pieces.back().to, direction, begin, first);
    }
    pieces.insert(pieces.end(), section.meridian.pieces().begin(), section.meridian.pieces().end());
    direction = last;
  }
  if (pieces.empty()) return std::nullopt;
  reach(pieces, direction, alone, tolerance);
  if (!falls(pieces, tolerance)) return std::nullopt;
  RailMeridian found{cutter::Meridian(std::move(pieces)), 0};
  for (Vec2 const p : levels)
    found.residual = std::max(found.residual, std::abs(found.curve.signed_distance(p)));
  if (found.residual > 1.5 * tolerance) return std::nullopt;
  return found;
}

} // namespace

std::optional<RailMeridian> fit_rail_meridian(std::vector<Vec2> const& levels, double tolerance) {
  // Another tolerance parts the levels otherwise.
  for (double const factor : {1.0, 0.8, 0.65})
    if (auto found = in_one_piece(levels, factor * tolerance)) return found;
  return std::nullopt;
}

} // namespace restep::finish
