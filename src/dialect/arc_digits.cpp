#include "dialect/arc_digits.hpp"

#include "dialect/number.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::dialect {
namespace {

using geometry::Vec2;

constexpr double closed = 1e-9; // mm between the ends of a whole circle

/// The angle from start to end as a control sees it, in (0, 2 pi].
double written_sweep(Vec2 start, Vec2 end, Vec2 centre, bool counter_clockwise) {
  if (geometry::distance(start, end) < closed) return 2 * std::numbers::pi;
  Vec2 const a = start - centre;
  Vec2 const b = end - centre;
  double angle = std::atan2(geometry::cross(a, b), geometry::dot(a, b));
  if (!counter_clockwise) angle = -angle;
  return angle > 0 ? angle : angle + 2 * std::numbers::pi;
}

/// How far the written arc leaves the meant one between their ends, in mm, along the radius. Where the radii
/// at the ends differ, controls go from one to the other along the arc.
double course_deviation(ArcInPlane const& arc, Vec2 centre, double sweep) {
  Vec2 const a = arc.start - centre;
  double const r_start = geometry::length(a);
  double const r_end = geometry::distance(arc.end, centre);
  double worst = 0;
  for (double const t : {0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875}) {
    double const angle = (arc.counter_clockwise ? t : -t) * sweep;
    double const r = (r_start + t * (r_end - r_start)) / r_start;
    Vec2 const point = centre + r * Vec2{std::cos(angle) * a.x - std::sin(angle) * a.y,
                                         std::sin(angle) * a.x + std::cos(angle) * a.y};
    double const meant = arc.radius_begin + t * (arc.radius_end - arc.radius_begin);
    worst = std::max(worst, std::abs(geometry::distance(point, arc.centre) - meant));
  }
  return worst;
}

} // namespace

std::optional<std::array<std::int64_t, 2>> centre_digits(ArcInPlane const& arc, ArcGrid const& grid) {
  Vec2 const base = grid.absolute ? Vec2{} : arc.start;
  Vec2 const words = (arc.centre - base) / grid.mm_per_unit;
  if (std::abs(words.x) > largest_number || std::abs(words.y) > largest_number) return std::nullopt;
  std::array<std::int64_t, 2> const nearest{digits_of(words.x, grid.decimals),
                                            digits_of(words.y, grid.decimals)};
  std::optional<std::array<std::int64_t, 2>> best;
  double best_cost = 0;
  double const digit = value_of(1, grid.decimals) * grid.mm_per_unit;
  for (std::int64_t dx = -1; dx <= 1; ++dx) {
    for (std::int64_t dy = -1; dy <= 1; ++dy) {
      std::array<std::int64_t, 2> const candidate{nearest[0] + dx, nearest[1] + dy};
      Vec2 const centre = base + grid.mm_per_unit * Vec2{value_of(candidate[0], grid.decimals),
                                                         value_of(candidate[1], grid.decimals)};
      Vec2 const off = centre - arc.centre;
      // Within one digit of the meant centre per axis, so that the course stays within the reach of a digit.
      if (std::abs(off.x) >= digit || std::abs(off.y) >= digit) continue;
      double const at_start = geometry::distance(centre, arc.start);
      double const at_end = geometry::distance(centre, arc.end);
      double const mismatch = std::abs(at_start - at_end);
      if (at_start < digit || mismatch > 0.9 * grid.radius_tolerance) continue;
      double const sweep = written_sweep(arc.start, arc.end, centre, arc.counter_clockwise);
      if (std::abs(sweep - arc.sweep) > std::numbers::pi / 4) continue;
      // The program's own centre words stay as they are when the digits can say them.
      if (geometry::length(off) < 1e-7) return candidate;
      double const deviation = course_deviation(arc, centre, sweep);
      double const cost = deviation <= grid.reach ? mismatch : grid.radius_tolerance + deviation;
      if (best && cost >= best_cost) continue;
      best = candidate;
      best_cost = cost;
    }
  }
  return best;
}

std::optional<std::int64_t> radius_digits(ArcInPlane const& arc, ArcGrid const& grid) {
  Vec2 const chord = arc.end - arc.start;
  double const width = geometry::length(chord);
  double const digit = value_of(1, grid.decimals) * grid.mm_per_unit;
  double const meant = (arc.radius_begin + arc.radius_end) / 2;
  if (arc.sweep >= std::numbers::pi || width < digit || meant / grid.mm_per_unit > largest_number)
    return std::nullopt;
  Vec2 const left = Vec2{-chord.y, chord.x} / width;
  std::int64_t const nearest = digits_of(meant / grid.mm_per_unit, grid.decimals);
  std::optional<std::int64_t> best;
  double best_deviation = grid.reach;
  for (std::int64_t const digits : {nearest, nearest - 1, nearest + 1}) {
    double const radius = value_of(digits, grid.decimals) * grid.mm_per_unit;
    double const square = radius * radius - width * width / 4;
    if (square <= 0) continue;
    double const height = (arc.counter_clockwise ? 1 : -1) * std::sqrt(square);
    Vec2 const centre = arc.start + 0.5 * chord + height * left;
    double const sweep = written_sweep(arc.start, arc.end, centre, arc.counter_clockwise);
    if (std::abs(sweep - arc.sweep) > std::numbers::pi / 4) continue;
    double const deviation = course_deviation(arc, centre, sweep);
    if (deviation > best_deviation || (best && deviation >= best_deviation)) continue;
    best = digits;
    best_deviation = deviation;
  }
  return best;
}

int chords_needed(double radius, double sweep, double tolerance) {
  double const widest = std::numbers::pi / 4;
  double const angle = radius <= tolerance ? widest : std::min(widest, 2 * std::acos(1 - tolerance / radius));
  return std::max(1, static_cast<int>(std::ceil(sweep / angle - 1e-9)));
}

} // namespace restep::dialect
