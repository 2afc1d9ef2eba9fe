#include "finish/beside.hpp"

#include "finish/course.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace restep::finish {

namespace {

// Shares of a contour's length that lie beside another, with and against its direction.
struct Beside {
  double with = 0, against = 0;
};
Beside beside(Contour const& one, Contour const& other, double reach) {
  constexpr std::size_t samples = 256;
  Course const course(other.segments, other.closed, reach);
  double const total = one.length();
  double const spacing = total / static_cast<double>(samples);
  Beside result;
  double counted = 0;
  double next = 0.5 * spacing;
  std::vector<std::pair<Vec2, Vec2>> places; // points and directions
  for (Segment const& s : one.segments) {
    double const length = s.length();
    while (next < counted + length) {
      double const share = (next - counted) / length;
      places.emplace_back(s.point_at(share), s.direction_at_share(share));
      next += spacing;
    }
    counted += length;
  }
  auto const share_beside = [&](double sign) {
    std::size_t hint = 0;
    std::size_t feet = 0;
    for (auto const& [p, direction] : places) {
      auto const foot = course.nearest_about(hint, p, sign * direction, reach);
      if (!foot) continue;
      hint = foot->element;
      if (!foot->beyond) ++feet;
    }
    return static_cast<double>(feet) / static_cast<double>(samples);
  };
  result.with = share_beside(1);
  // What runs beside the other all along its way does not run against it.
  if (result.with < 1 - 1e-9) result.against = share_beside(-1);
  return result;
}

// An upper bound for the length of a contour of lines that lies in a box: what of its course along X and
// along Y is within. None where it has arcs.
std::optional<double> most_within(Contour const& contour, Extent const& box) {
  Vec2 course{};
  for (Segment const& s : contour.segments) {
    if (s.arc) return std::nullopt;
    course = course + Vec2{std::abs(s.to.x - s.from.x), std::abs(s.to.y - s.from.y)};
  }
  Extent const own = extent_of(contour);
  // What lies outside is crossed once at least.
  auto const outside = [](double low, double high, double box_low, double box_high) {
    return std::max(0.0, std::min(high, box_low) - low) + std::max(0.0, high - std::max(low, box_high));
  };
  return course.x - outside(own.low.x, own.high.x, box.low.x, box.high.x) + course.y -
         outside(own.low.y, own.high.y, box.low.y, box.high.y);
}

Extent around(Contour const& contour, double reach) {
  Extent box = extent_of(contour);
  box.low = box.low - Vec2{reach, reach};
  box.high = box.high + Vec2{reach, reach};
  return box;
}

} // namespace

bool run_beside(Contour const& a, Contour const& b, double reach, bool& backwards) {
  constexpr double almost_all = 0.95;
  Beside const there = beside(a, b, reach);
  if (std::max(there.with, there.against) < almost_all) return false;
  Beside const back = beside(b, a, reach);
  double const with = std::min(there.with, back.with);
  double const against = std::min(there.against, back.against);
  backwards = against > with;
  return std::max(with, against) >= almost_all;
}

bool one_above_other(Contour const& a, Contour const& b) {
  constexpr double most = 0.5;
  double const length = a.length();
  double const reach = 0.5 * std::min(length, b.length());
  // Pieces of one line lie one after the other: that is seen without a look at where they run.
  if (auto const within = most_within(a, around(b, reach)); within && *within <= most * length) return false;
  Beside const there = beside(a, b, reach);
  if (std::max(there.with, there.against) <= most) return false;
  Beside const back = beside(b, a, reach);
  return std::max(std::min(there.with, back.with), std::min(there.against, back.against)) > most;
}

} // namespace restep::finish
