#include "finish/corner.hpp"

#include "geometry/intersect.hpp"

#include <algorithm>
#include <cmath>

namespace restep::finish {

ElementLaw::ElementLaw(std::span<Segment const> levels, std::span<double const> d, double side)
    : arc_(levels.front().arc)
    , ccw_(levels.front().ccw) {
  double const n = static_cast<double>(levels.size());
  if (arc_) {
    // To the left of a counter-clockwise course is its centre.
    growth_ = ccw_ ? -side : side;
    for (std::size_t k = 0; k < levels.size(); ++k) {
      middle_ = middle_ + levels[k].centre / n;
      base_ += (levels[k].mean_radius() - growth_ * d[k]) / n;
    }
    return;
  }
  growth_ = side;
  for (Segment const& s : levels)
    middle_ = middle_ + left_normal(s.to - s.from);
  middle_ = normalized(middle_);
  for (std::size_t k = 0; k < levels.size(); ++k)
    base_ += (dot(middle_, 0.5 * (levels[k].from + levels[k].to)) - growth_ * d[k]) / n;
}

Vec2 ElementLaw::direction_at(Vec2 p) const {
  if (!arc_) return -left_normal(middle_);
  Vec2 const left = left_normal(normalized(p - middle_));
  return ccw_ ? left : -left;
}

double ElementLaw::left_of(double d, Vec2 p) const {
  if (!arc_) return dot(middle_, p) - reach(d);
  double const outside = distance(p, middle_) - reach(d);
  return ccw_ ? -outside : outside;
}

std::optional<Vec2> ElementLaw::meets(ElementLaw const& other, double d, Vec2 near) const {
  if (arc_ && !other.arc_) return other.meets(*this, d, near);
  geometry::Circle const circle{other.middle_, other.reach(d)};
  if (!(circle.radius > 0) || (arc_ && !(reach(d) > 0))) return std::nullopt;
  std::vector<Vec2> places;
  if (arc_) {
    places = geometry::circle_circle({middle_, reach(d)}, circle);
  } else {
    Vec2 const on = reach(d) * middle_;
    places = geometry::line_circle(on, on + direction_at(on), circle);
  }
  if (places.empty()) return std::nullopt;
  return *std::min_element(places.begin(), places.end(),
                           [&](Vec2 a, Vec2 b) { return distance(a, near) < distance(b, near); });
}

double Corner::sine_at(Vec2 p) const {
  return std::abs(cross(before_.direction_at(p), after_.direction_at(p)));
}

} // namespace restep::finish
