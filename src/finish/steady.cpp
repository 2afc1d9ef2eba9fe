#include "finish/steady.hpp"

#include "finish/course.hpp"
#include "finish/move_left.hpp"
#include "geometry/in_parallel.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::finish {

namespace {

// Levels to either side that are asked; of the first and the last as many more to the one side. More do not
// say more: the farther a contour is moved, the more what its chords' curve is not known by tells.
constexpr std::size_t beside = 2;
// Half a digit each way, along a diagonal normal, in digits.
constexpr double open = std::numbers::sqrt2 / 2;
// The neighbours are as uncertain; where they say more than this another reason is behind it.
constexpr double most = 1;

bool is_between_chords(Contour const& contour, std::size_t vertex) {
  constexpr double alike = 3; // chords of one curve have about the same length; what is longer is a line
  std::vector<Segment> const& s = contour.segments;
  std::size_t const n = s.size();
  if (!contour.closed && (vertex == 0 || vertex == n)) return false;
  Segment const& before = s[(vertex + n - 1) % n];
  Segment const& after = s[vertex % n];
  double const ratio = before.length() / after.length();
  return ratio < alike && ratio > 1 / alike && on_curve(before, after);
}

class Steadying {
public:
  Steadying(Stack const& stack, Offsets const& offsets, double resolution)
      : stack_(stack)
      , offsets_(offsets)
      , resolution_(resolution) {}

  std::vector<std::vector<std::vector<float>>> run() const {
    std::vector<std::vector<std::vector<float>>> left(stack_.levels.size());
    geometry::in_parallel(left.size(), [&](std::size_t k) {
      for (std::size_t c = 0; c < stack_.levels[k].contours.size(); ++c)
        left[k].push_back(steady(k, c));
    });
    return left;
  }

private:
  Stack const& stack_;
  Offsets const& offsets_;
  double resolution_;

  bool can_be_moved(std::size_t from, std::size_t to) const {
    for (std::size_t k = std::min(from, to); k < std::max(from, to); ++k)
      if (!(from < to ? offsets_.movable[k].onwards : offsets_.movable[k].back)) return false;
    return true;
  }

  std::vector<float> steady(std::size_t level, std::size_t c) const {
    Contour const& contour = stack_.levels[level].contours[c];
    std::vector<std::size_t> vertices;
    for (std::size_t i = 0; i < contour.segments.size(); ++i)
      if (is_between_chords(contour, i)) vertices.push_back(i);
    std::vector<float> left(contour.segments.size(), 0.0F);
    if (vertices.empty()) return left;
    Course const own(contour.segments, contour.closed, 0);
    std::vector<double> sum(left.size(), 0.0);
    std::vector<unsigned> asked(left.size(), 1);
    std::size_t const window = std::min(2 * beside + 1, stack_.levels.size());
    std::size_t const first = std::min(level - std::min(level, beside), stack_.levels.size() - window);
    for (std::size_t k = first; k < first + window; ++k)
      if (k != level && can_be_moved(k, level)) ask(k, level, c, own, vertices, sum, asked);
    for (std::size_t const i : vertices) {
      double const to_left = -sum[i] / asked[i];
      if (std::abs(to_left) > most * resolution_) continue;
      left[i] = static_cast<float>(std::clamp(to_left, -open * resolution_, open * resolution_));
    }
    return left;
  }

  // Adds how far the vertices stand to the left of another level's contour, moved to where they are.
  void ask(std::size_t from, std::size_t to, std::size_t c, Course const& own,
           std::vector<std::size_t> const& vertices, std::vector<double>& sum,
           std::vector<unsigned>& asked) const {
    constexpr double surely = 0.02; // mm
    Contour const& source = stack_.levels[from].contours[c];
    double const side = offsets_.away < 0 ? -1 : 1;
    auto const moved =
        move_left(source.segments, source.closed, side * (offsets_.d[to] - offsets_.d[from]), resolution_);
    if (!moved) return;
    Course const other(moved->segments, source.closed, surely);
    std::size_t hint = 0;
    for (std::size_t const i : vertices) {
      auto const foot = other.nearest_about(hint, own.vertex(i), own.direction_at_vertex(i), surely);
      if (!foot || foot->beyond) continue;
      hint = foot->element;
      sum[i] += foot->left;
      ++asked[i];
    }
  }
};

} // namespace

std::vector<std::vector<std::vector<float>>> steady_vertices(Stack const& stack, Offsets const& offsets,
                                                             double resolution) {
  return Steadying(stack, offsets, resolution).run();
}

std::vector<Segment> steadied(Contour const& contour, std::span<float const> left) {
  std::vector<Segment> segments = contour.segments;
  Course const course(contour.segments, contour.closed, 0);
  std::size_t const n = segments.size();
  for (std::size_t i = 0; i < n; ++i) {
    if (left[i] == 0) continue;
    segments[i].from = segments[(i + n - 1) % n].to =
        course.vertex(i) + left[i] * left_normal(course.direction_at_vertex(i));
  }
  return segments;
}

} // namespace restep::finish
