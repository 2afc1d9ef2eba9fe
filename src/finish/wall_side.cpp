#include "finish/wall_side.hpp"

#include "finish/course.hpp"
#include "motion/backwards.hpp"

#include <cmath>
#include <cstddef>
#include <optional>
#include <vector>

namespace restep::finish {

namespace {

using motion::Side;

constexpr double deepest = 50;        // mm: the deepest round or draft
constexpr double wall_within = 0.003; // mm: levels that stand nearer to each other are one wall
constexpr double lead_beside = 0.2;   // mm: a way in or out is not the contour once it is so far from it
constexpr std::size_t most_samples = 100;

Side side_of(double left) {
  return left > 0 ? Side::left : left < 0 ? Side::right : Side::off;
}

/// How far to the left of the lowest level's contour the highest level's stands, mm: on the material's side.
/// Zero where they stand above each other; none where parts of it say different things.
std::optional<double> left_of_lowest(Contour const& highest, Contour const& lowest) {
  Course const upper(highest.segments, highest.closed, deepest);
  Course const lower(lowest.segments, lowest.closed, deepest);
  std::vector<std::pair<Vec2, Vec2>> samples;
  upper.for_samples([&](Vec2 at, Vec2 direction, double) { samples.emplace_back(at, direction); });
  std::size_t const stride = samples.size() / most_samples + 1;
  double low = 0, high = 0;
  for (std::size_t i = 0; i < samples.size(); i += stride) {
    auto const foot = lower.nearest(samples[i].first, samples[i].second);
    if (!foot || foot->beyond) continue;
    low = std::min(low, foot->left);
    high = std::max(high, foot->left);
  }
  if (-low > wall_within && high > wall_within) return std::nullopt;
  return high > wall_within ? high : -low > wall_within ? low : 0;
}

/// The sides of a contour from which it is reached and left at its own height.
class FreeSide {
public:
  explicit FreeSide(std::span<motion::Step const> operation)
      : operation_(operation) {}

  void look_at(Contour const& contour) {
    Course const course(contour.segments, contour.closed, deepest);
    for (std::size_t i = contour.first_step; i-- > 0;)
      if (!goes_on(operation_[i], contour, course, true)) break;
    for (std::size_t i = contour.last_step + 1; i < operation_.size(); ++i)
      if (!goes_on(operation_[i], contour, course, false)) break;
  }

  /// Off where nothing or both was seen.
  Side side() const { return left_ == right_ ? Side::off : left_ ? Side::left : Side::right; }

private:
  std::span<motion::Step const> operation_;
  bool left_ = false, right_ = false;

  /// False at the end of the way: it has left the contour, or the height, or does not cut.
  bool goes_on(motion::Step const& step, Contour const& contour, Course const& course, bool before) {
    motion::Motion const* m = motion::motion_of(step);
    if (m == nullptr) return std::holds_alternative<motion::Comment>(step.event);
    if (!is_level_cut(*m) || std::abs(m->from.z - contour.z) > same_height) return false;
    Vec2 const at = geometry::xy(before ? m->from : m->to);
    auto const foot = course.nearest(at);
    if (!foot) return false;
    if (std::abs(foot->left) < lead_beside || foot->beyond || !is_beside(contour, *foot, at)) return true;
    (foot->left > 0 ? left_ : right_) = true;
    return false;
  }

  /// False in front of a corner, where a point may be on either side of the two elements that meet there.
  static bool is_beside(Contour const& contour, Foot const& foot, Vec2 point) {
    Segment const& element = contour.segments[foot.element];
    Vec2 const off = normalized(point - element.point_at(foot.share));
    return std::abs(cross(element.direction_at_share(foot.share), off)) > 0.5;
  }
};

void mark(std::span<motion::Step> operation, std::size_t first, std::size_t last, Side side) {
  for (std::size_t i = first; i <= last; ++i)
    if (motion::Motion* m = motion::motion_of(operation[i]); m != nullptr && motion::is_cutting(*m))
      m->wall = side;
}

} // namespace

void mark_wall(std::span<motion::Step> operation, Stack const& stack) {
  Level const& highest = stack.downwards() ? stack.levels.front() : stack.levels.back();
  Level const& lowest = stack.downwards() ? stack.levels.back() : stack.levels.front();
  for (std::size_t c = 0; c < highest.contours.size(); ++c) {
    auto const left = left_of_lowest(highest.contours[c], lowest.contours[c]);
    if (!left) continue;
    Side side = side_of(*left);
    if (side == Side::off) {
      FreeSide free(operation);
      for (Level const& level : stack.levels)
        free.look_at(level.contours[c]);
      side = other(free.side());
    }
    // `side` goes by the order in which the elements are told.
    for (Level const& level : stack.levels) {
      Contour const& contour = level.contours[c];
      mark(operation, contour.first_step, contour.last_step, contour.reversed ? other(side) : side);
    }
  }
}

namespace {

/// The side from which a spiral on a vertical wall is entered at its first height and left at its last.
Side free_side(std::span<motion::Step const> operation, UnrolledSpiral const& spiral) {
  motion::Motion const* const first = motion::motion_of(operation[spiral.first]);
  motion::Motion const* const last = motion::motion_of(operation[spiral.closing_last]);
  if (first == nullptr || last == nullptr) return Side::off;
  Contour entered, left;
  entered.segments = left.segments = spiral.loop;
  entered.closed = left.closed = true;
  entered.z = first->from.z;
  entered.first_step = spiral.first;
  entered.last_step = operation.size() - 1;
  left.z = last->to.z;
  left.last_step = spiral.closing_last;
  FreeSide free(operation);
  free.look_at(entered);
  free.look_at(left);
  return free.side();
}

} // namespace

void mark_wall(std::span<motion::Step> operation, SpiralPass const& pass) {
  if (!pass.spiral) return;
  double const away = pass.spiral->away;
  Side const side = away > 0   ? Side::right
                    : away < 0 ? Side::left
                               : other(free_side(operation, *pass.spiral));
  mark(operation, pass.first_step, pass.last_step, side);
}

void mark_wall(std::span<motion::Step> operation, RisingSpiral const& pass) {
  std::span<motion::Step> const own = operation.subspan(pass.begin, pass.end - pass.begin);
  std::vector<motion::Step> run = motion::backwards(own);
  mark_wall(run, pass.falling);
  std::vector<motion::Step> marked = motion::backwards(run);
  std::move(marked.begin(), marked.end(), own.begin());
}

} // namespace restep::finish
