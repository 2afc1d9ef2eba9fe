#include "dialect/arc_digits.hpp"

#include "dialect/number.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::dialect {
namespace {

using geometry::Vec2;

constexpr double same_place = 1e-9; // mm

/// The angle from start to end as a control sees it, in (0, 2 pi].
double written_sweep(Vec2 start, Vec2 end, Vec2 centre, bool counter_clockwise) {
  if (geometry::distance(start, end) < same_place) return 2 * std::numbers::pi;
  Vec2 const a = start - centre;
  Vec2 const b = end - centre;
  double angle = std::atan2(geometry::cross(a, b), geometry::dot(a, b));
  if (!counter_clockwise) angle = -angle;
  return angle > 0 ? angle : angle + 2 * std::numbers::pi;
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
      // Of equally good digits those nearest to the meant centre.
      double const cost = mismatch + 0.1 * geometry::length(off);
      if (best && cost >= best_cost) continue;
      best = candidate;
      best_cost = cost;
    }
  }
  return best;
}

int chords_needed(double radius, double sweep, double tolerance) {
  double const widest = std::numbers::pi / 4;
  double const angle = radius <= tolerance ? widest : std::min(widest, 2 * std::acos(1 - tolerance / radius));
  return std::max(1, static_cast<int>(std::ceil(sweep / angle - 1e-9)));
}

} // namespace restep::dialect
