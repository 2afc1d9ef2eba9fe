#include "finish/by_geometry.hpp"

#include "finish/course.hpp"
#include "finish/move_left.hpp"
#include "finish/steady.hpp"
#include "geometry/constants.hpp"
#include "geometry/in_parallel.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace restep::finish {

namespace {

using geometry::um;
// An element that shrinks to a smaller share of its length has no normals that other levels share.
constexpr double least_left = 0.3;

struct Sample {
  double left = 0, weight = 0;
};

// An upper bound for the offset between two contours: the sides of their extents move with it.
double farthest_shift(Contour const& a, Contour const& b) {
  Extent const ea = extent_of(a);
  Extent const eb = extent_of(b);
  return 0.2 + 2 * std::max({std::abs(ea.low.x - eb.low.x), std::abs(ea.low.y - eb.low.y),
                             std::abs(ea.high.x - eb.high.x), std::abs(ea.high.y - eb.high.y)});
}

// How far points of `moved` stand to the left of `still`.
void sample(Course const& moved, Course const& still, double sign, std::vector<Sample>& out) {
  // Where chords meet, the one ends with the place that the next begins with.
  Vec2 asked_at{}, asked_direction{};
  std::optional<Foot> foot;
  moved.for_samples([&](Vec2 at, Vec2 direction, double weight) {
    if (!(at == asked_at && direction == asked_direction)) {
      foot = still.nearest(at, direction);
      asked_at = at;
      asked_direction = direction;
    }
    if (foot && !foot->beyond) out.push_back({sign * foot->left, weight});
  });
}

double median_of(std::vector<Sample>& samples) {
  std::sort(samples.begin(), samples.end(), [](Sample a, Sample b) { return a.left < b.left; });
  double total = 0;
  for (Sample const s : samples)
    total += s.weight;
  double sum = 0;
  for (Sample const s : samples)
    if ((sum += s.weight) >= total / 2) return s.left;
  return 0;
}

// Mean of the samples near the median, and how far nine tenths of the length are from it.
struct Shift {
  double left = 0, spread = 0;
};
Shift robust_mean(std::vector<Sample> samples, double allowance) {
  Shift shift;
  double const median = median_of(samples);
  double sum = 0;
  double near = 0;
  double total = 0;
  for (Sample const s : samples) {
    total += s.weight;
    if (std::abs(s.left - median) > allowance) continue;
    sum += s.weight * s.left;
    near += s.weight;
  }
  shift.left = near > 0 ? sum / near : median;
  for (Sample& s : samples)
    s.left = std::abs(s.left - shift.left);
  std::sort(samples.begin(), samples.end(), [](Sample a, Sample b) { return a.left < b.left; });
  double counted = 0;
  for (Sample const s : samples)
    if ((counted += s.weight) >= 0.9 * total) {
      shift.spread = s.left;
      break;
    }
  return shift;
}

struct Deviation {
  double value = 0;
  Vec2 at{};
};

// The farthest that any vertex of one lies from the other, told for the worst.
Deviation deviation(std::span<Segment const> a, std::span<Segment const> b, bool closed, double reach) {
  Course const one(a, closed, reach);
  Course const two(b, closed, reach);
  Deviation worst;
  // Where the two agree the next vertex is next to the one before.
  constexpr double surely = 0.02; // mm
  auto const compare = [&](Course const& from, Course const& to) {
    std::size_t hint = 0;
    for (std::size_t i = 0; i < from.vertices(); ++i) {
      auto const foot = to.nearest_about(hint, from.vertex(i), from.direction_at_vertex(i), surely);
      if (foot) hint = foot->element;
      double const off = foot ? std::abs(foot->left) : reach;
      if (off > worst.value) worst = {off, from.vertex(i)};
    }
  };
  compare(one, two);
  compare(two, one);
  return worst;
}

class ByGeometry {
public:
  ByGeometry(Stack const& stack, double resolution)
      : stack_(stack)
      , resolution_(resolution)
      , tolerance_(std::max(2.5 * resolution, 0.001)) {}

  tl::expected<Offsets, std::string> run() {
    for (Level const& level : stack_.levels)
      for (Contour const& contour : level.contours)
        offsets_.sagitta = std::max(offsets_.sagitta, largest_sagitta(contour.segments, contour.closed));
    // Where the curve through chords is not a circle its sagitta is known to a part only.
    tolerance_ += 0.3 * offsets_.sagitta;
    for (auto const step :
         {&ByGeometry::measure_shifts, &ByGeometry::move_first, &ByGeometry::compare_neighbours})
      if (std::string trouble = (this->*step)(); !trouble.empty()) return tl::unexpected(std::move(trouble));
    offsets_.steady = steady_vertices(stack_, offsets_, resolution_);
    return std::move(offsets_);
  }

private:
  // A level against the first.
  struct Against {
    std::string trouble;
    Shift shift;
  };

  std::string measure_shifts() {
    Level const& first = stack_.levels.front();
    std::vector<Course> courses;
    for (std::size_t c = 0; c < first.contours.size(); ++c) {
      double reach = 0;
      for (Level const& level : stack_.levels)
        reach = std::max(reach, farthest_shift(first.contours[c], level.contours[c]));
      courses.emplace_back(first.contours[c].segments, first.contours[c].closed, reach).prepare();
    }
    std::vector<Against> against(stack_.levels.size());
    geometry::in_parallel(stack_.levels.size() - 1,
                          [&](std::size_t k) { against[k + 1] = measure_against(courses, k + 1); });
    offsets_.d.assign(stack_.levels.size(), 0.0);
    for (std::size_t k = 1; k < stack_.levels.size(); ++k) {
      if (!against[k].trouble.empty()) return against[k].trouble;
      offsets_.d[k] = against[k].shift.left;
      offsets_.spread = std::max(offsets_.spread, against[k].shift.spread);
    }
    return orient(offsets_, stack_, tolerance_);
  }

  Against measure_against(std::vector<Course> const& first, std::size_t k) const {
    std::vector<Sample> all;
    std::vector<double> each;
    for (std::size_t c = 0; c < first.size(); ++c) {
      Contour const& still = stack_.levels.front().contours[c];
      Contour const& moved = stack_.levels[k].contours[c];
      Course const course(moved.segments, moved.closed, farthest_shift(still, moved));
      std::vector<Sample> samples;
      sample(course, first[c], 1, samples);
      sample(first[c], course, -1, samples);
      each.push_back(robust_mean(samples, tolerance_).left);
      all.insert(all.end(), samples.begin(), samples.end());
    }
    if (std::string trouble = contours_differ(each, tolerance_); !trouble.empty())
      return {std::move(trouble), {}};
    Shift const shift = robust_mean(std::move(all), tolerance_);
    if (shift.spread > 2 * tolerance_)
      return {
          fmt::format("the contours of its levels are not offsets of each other: parts of one level moved by "
                      "amounts that differ by {:.1f} um",
                      um * shift.spread),
          {}};
    return {{}, shift};
  }

  double side() const { return offsets_.away < 0 ? -1 : 1; }

  // The first level's contours, and which of their elements do not last to the farthest levels.
  std::string move_first() {
    auto const [low, high] = std::minmax_element(offsets_.d.begin(), offsets_.d.end());
    for (Contour const& contour : stack_.levels.front().contours) {
      std::size_t const n = contour.segments.size();
      std::vector<bool> vanishing(n, false);
      for (double const at : {*low, *high}) {
        auto const moved = move_left(contour.segments, contour.closed, side() * at, 0);
        if (!moved) return "a corner of its contours vanishes where its neighbours do not meet";
        std::vector<bool> left(n, false);
        for (std::size_t i = 0; i < moved->segments.size(); ++i) {
          std::size_t const j = moved->origin[i];
          left[j] = moved->segments[i].length() > least_left * contour.segments[j].length();
        }
        for (std::size_t j = 0; j < n; ++j)
          vanishing[j] = vanishing[j] || !left[j];
      }
      offsets_.vanishing.push_back(std::move(vanishing));
    }
    return {};
  }

  // Moves every level to where its neighbours are.
  std::string compare_neighbours() {
    double worst = offsets_.sagitta;
    std::size_t const pairs = stack_.levels.size() - 1;
    std::vector<Deviation> onwards(pairs);
    std::vector<Deviation> backwards(pairs);
    geometry::in_parallel(pairs, [&](std::size_t k) {
      onwards[k] = moved_against(k, k + 1);
      backwards[k] = moved_against(k + 1, k);
    });
    for (std::size_t k = 0; k < pairs; ++k) {
      Deviation const on = onwards[k];
      Deviation const back = backwards[k];
      Movable const movable{on.value <= tolerance_, back.value <= tolerance_};
      if (!movable.onwards && !movable.back)
        return fmt::format(
            "the contours at Z{:.4f} and Z{:.4f} are not offsets of each other: they differ by {:.1f} um "
            "at X{:.3f} Y{:.3f}",
            stack_.levels[k].z, stack_.levels[k + 1].z, um * std::min(on.value, back.value), on.at.x,
            on.at.y);
      worst = std::max({worst, movable.onwards ? on.value : 0, movable.back ? back.value : 0});
      offsets_.movable.push_back(movable);
    }
    offsets_.form = worst;
    return {};
  }

  Deviation moved_against(std::size_t from, std::size_t to) const {
    Deviation worst;
    double const shift = side() * (offsets_.d[to] - offsets_.d[from]);
    double const reach = std::abs(shift) + 0.1;
    for (std::size_t c = 0; c < stack_.levels[from].contours.size(); ++c) {
      Contour const& source = stack_.levels[from].contours[c];
      Contour const& target = stack_.levels[to].contours[c];
      auto const moved = move_left(source.segments, source.closed, shift, resolution_);
      if (!moved) return {reach, source.segments.front().from};
      Deviation const here = deviation(moved->segments, target.segments, source.closed, reach);
      if (here.value > worst.value) worst = here;
    }
    return worst;
  }

  Stack const& stack_;
  double resolution_;
  double tolerance_;
  Offsets offsets_;
};

} // namespace

tl::expected<Offsets, std::string> measure_by_geometry(Stack const& stack, double resolution) {
  return ByGeometry(stack, resolution).run();
}

} // namespace restep::finish
