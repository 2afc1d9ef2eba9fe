#include "proof/tip_surface.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::proof {

using geometry::Vec2;

namespace {

// Lagrange's polynomial through up to four values and its derivative.
struct Told {
  double value = 0, slope = 0;
};
template <class At, class Value>
Told through(std::size_t count, At const& at, Value const& value, double x) {
  Told told;
  for (std::size_t i = 0; i < count; ++i) {
    double weight = 1;
    double derivative = 0;
    for (std::size_t j = 0; j < count; ++j) {
      if (j == i) continue;
      double const span = at(i) - at(j);
      derivative = (derivative * (x - at(j)) + weight) / span;
      weight *= (x - at(j)) / span;
    }
    told.value += weight * value(i);
    told.slope += derivative * value(i);
  }
  return told;
}

Told along(std::vector<Vec2> const& points, double u) {
  auto const above =
      std::upper_bound(points.begin(), points.end(), u, [](double x, Vec2 const& p) { return x < p.x; });
  auto const i = static_cast<std::size_t>(above - points.begin());
  std::size_t const count = std::min<std::size_t>(4, points.size());
  std::size_t const first = std::min(i > 2 ? i - 2 : 0, points.size() - count);
  return through(
      count, [&](std::size_t j) { return points[first + j].x; },
      [&](std::size_t j) { return points[first + j].y; }, u);
}

} // namespace

TipSurface::TipSurface(finish::RasterPass const& pass) {
  bool first = true;
  for (finish::RasterLine const& line : pass.lines) {
    Row row{line.v, {}};
    for (finish::RasterPiece const& piece : line.pieces) {
      Points points;
      for (geometry::Vec3 const& p : piece.points) {
        Vec2 const q{pass.frame.own(geometry::xy(p)).x, p.z};
        points.push_back(q);
        Vec2 const here{q.x, line.v};
        low_ = first ? here : Vec2{std::min(low_.x, here.x), std::min(low_.y, here.y)};
        high_ = first ? here : Vec2{std::max(high_.x, here.x), std::max(high_.y, here.y)};
        first = false;
      }
      if (points.back().x < points.front().x) std::reverse(points.begin(), points.end());
      row.pieces.push_back(std::move(points));
    }
    rows_.push_back(std::move(row));
  }
  if (rows_.back().v < rows_.front().v) std::reverse(rows_.begin(), rows_.end());
}

TipSurface::Points const* TipSurface::piece_at(Row const& row, double u) {
  for (Points const& points : row.pieces)
    if (u >= points.front().x && u <= points.back().x) return &points;
  return nullptr;
}

std::optional<TipSurface::Height> TipSurface::at(Vec2 own) const {
  if (own.y < rows_.front().v || own.y > rows_.back().v) return std::nullopt;
  auto const above =
      std::upper_bound(rows_.begin(), rows_.end(), own.y, [](double v, Row const& row) { return v < row.v; });
  std::size_t const high = std::min(static_cast<std::size_t>(above - rows_.begin()), rows_.size() - 1);
  if (high == 0) return std::nullopt;
  double places[4];
  Told told[4];
  std::size_t count = 0;
  double from_end = std::numeric_limits<double>::infinity();
  auto const take = [&](std::size_t k, bool in_front) {
    Points const* points = piece_at(rows_[k], own.x);
    if (points == nullptr) return false;
    if (count < 2) from_end = std::min({from_end, own.x - points->front().x, points->back().x - own.x});
    if (in_front) {
      std::copy_backward(places, places + count, places + count + 1);
      std::copy_backward(told, told + count, told + count + 1);
    }
    std::size_t const i = in_front ? 0 : count;
    places[i] = rows_[k].v;
    told[i] = along(*points, own.x);
    ++count;
    return true;
  };
  if (!take(high - 1, false) || !take(high, false)) return std::nullopt;
  std::size_t below = high - 1;
  std::size_t beyond = high;
  bool down = true;
  bool up = true;
  while (count < 4 && (down || up)) {
    if (down && (!up || high - 1 - below <= beyond - high))
      down = below > 0 && take(--below, true);
    else
      up = beyond + 1 < rows_.size() && take(++beyond, false);
  }
  if (count < 3) return std::nullopt;
  auto const place = [&](std::size_t i) { return places[i]; };
  Told const z = through(
      count, place, [&](std::size_t i) { return told[i].value; }, own.y);
  Told const rise = through(
      count, place, [&](std::size_t i) { return told[i].slope; }, own.y);
  return Height{z.value, {rise.value, z.slope}, from_end};
}

// The tool touches a slope on its uphill side, a + r sin from its axis.
std::optional<TipSurface::Finished> TipSurface::finished(Vec2 own, cutter::Underside const& tool,
                                                         Vec2 near) const {
  Vec2 tip = near;
  std::optional<Height> here = at(tip);
  if (!here) here = at(tip = own);
  for (int round = 0; round < 12 && here; ++round) {
    double const steep = length(here->slope);
    double const reach =
        steep > 1e-9 ? tool.flat_radius() / steep + tool.corner_radius() / std::hypot(1.0, steep) : 0;
    Vec2 const next = own - reach * here->slope;
    bool const still = distance(next, tip) < 1e-5;
    tip = next;
    here = at(tip);
    if (still) break;
  }
  if (!here) return std::nullopt;
  return Finished{here->z + tool.height(distance(own, tip)), tip, length(here->slope), here->from_end};
}

} // namespace restep::proof
