#include "finish/stack.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace restep::finish {

namespace {

constexpr double same_height = 1e-6;

bool counterpart(Contour const& a, Contour const& b, StackLimits const& limits) {
  if (a.closed != b.closed || a.segments.size() != b.segments.size()) return false;
  for (std::size_t j = 0; j < a.segments.size(); ++j) {
    Segment const& s = a.segments[j];
    Segment const& t = b.segments[j];
    if (s.arc != t.arc || (s.arc && s.ccw != t.ccw)) return false;
    if (distance(s.from, t.from) > limits.max_shift || distance(s.to, t.to) > limits.max_shift) return false;
    // Elements long enough to have a direction must keep it: an offset turns nothing.
    double const length = distance(s.from, s.to);
    if (!s.arc && length > 0.05 && distance(t.from, t.to) > 0.05 &&
        dot(normalized(s.to - s.from), normalized(t.to - t.from)) < 0.5)
      return false;
  }
  return true;
}

bool follows(Level const& upper, Level const& next, StackLimits const& limits) {
  if (upper.contours.size() != next.contours.size()) return false;
  return std::equal(upper.contours.begin(), upper.contours.end(), next.contours.begin(),
                    [&](Contour const& a, Contour const& b) { return counterpart(a, b, limits); });
}

// A pass often ends with its last contour cut once more at the same height; the level then has more contours
// than the others.
bool begins_like(Level const& upper, Level const& next, StackLimits const& limits) {
  if (next.contours.size() <= upper.contours.size()) return false;
  return std::equal(upper.contours.begin(), upper.contours.end(), next.contours.begin(),
                    [&](Contour const& a, Contour const& b) { return counterpart(a, b, limits); });
}

std::vector<Level> levels_of(std::vector<Contour> contours) {
  std::vector<Level> levels;
  for (Contour& c : contours) {
    if (levels.empty() || std::abs(levels.back().z - c.z) > same_height) {
      levels.emplace_back();
      levels.back().z = c.z;
    }
    levels.back().contours.push_back(std::move(c));
  }
  return levels;
}

bool is_multiple(double value, double unit) {
  double const n = value / unit;
  // 1e-6 of a digit: far above the rounding of doubles at machine sizes, far below a digit.
  return std::abs(n - std::round(n)) < 1e-5;
}

} // namespace

std::vector<Stack> find_stacks(std::vector<Contour> contours, StackLimits const& limits) {
  std::vector<Level> levels = levels_of(std::move(contours));
  std::vector<Stack> stacks;
  std::size_t i = 0;
  while (i < levels.size()) {
    std::size_t end = i + 1;
    while (end < levels.size() && follows(levels[end - 1], levels[end], limits)) {
      bool const down = levels[end].z < levels[end - 1].z;
      if (end > i + 1 && down != (levels[end - 1].z < levels[end - 2].z)) break;
      ++end;
    }
    bool const repeated_last = end < levels.size() && end > i + 1 &&
                               begins_like(levels[end - 1], levels[end], limits) &&
                               (levels[end].z < levels[end - 1].z) == (levels[end - 1].z < levels[end - 2].z);
    std::size_t const count = end - i + (repeated_last ? 1 : 0);
    if (count >= limits.min_levels) {
      Stack stack;
      std::size_t const per_level = levels[i].contours.size();
      for (std::size_t k = i; k < i + count; ++k) {
        levels[k].contours.resize(per_level);
        stack.levels.push_back(std::move(levels[k]));
      }
      stacks.push_back(std::move(stack));
    }
    i += std::max<std::size_t>(count, 1);
  }
  return stacks;
}

double resolution_of(std::span<motion::Step const> steps) {
  static constexpr std::array units = {0.0254, 0.01,      0.00254, 0.001,   0.000254,
                                       0.0001, 0.0000254, 0.00001, 0.000001};
  for (double const unit : units) {
    bool all = true;
    for (motion::Step const& step : steps) {
      motion::Motion const* m = motion::motion_of(step);
      if (m == nullptr || !motion::is_known(m->to)) continue;
      all = is_multiple(m->to.x, unit) && is_multiple(m->to.y, unit) && is_multiple(m->to.z, unit);
      if (!all) break;
    }
    if (all) return unit;
  }
  return units.back();
}

} // namespace restep::finish
