#include "finish/stack.hpp"

#include "finish/beside.hpp"
#include "finish/course.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <optional>
#include <tuple>
#include <utility>

namespace restep::finish {

namespace {

bool alike(Segment const& s, Segment const& t, StackLimits const& limits) {
  if (s.arc != t.arc || (s.arc && s.ccw != t.ccw)) return false;
  if (distance(s.from, t.from) > limits.max_shift || distance(s.to, t.to) > limits.max_shift) return false;
  // Lines long enough to have a direction keep it: an offset turns nothing.
  constexpr double telling_length = 0.05;
  if (s.arc || s.length() <= telling_length || t.length() <= telling_length) return true;
  return dot(normalized(s.to - s.from), normalized(t.to - t.from)) > 0.9;
}

using Elements = std::span<Segment const>;

bool alike(Elements a, Elements b, StackLimits const& limits) {
  return a.size() == b.size() &&
         std::equal(a.begin(), a.end(), b.begin(),
                    [&](Segment const& s, Segment const& t) { return alike(s, t, limits); });
}

// How the contour of the next level is to be told so that it is the counterpart of this one.
struct Counterpart {
  Contour contour;
  std::size_t trim_front = 0, trim_back = 0; ///< elements that this contour must give up for it
};

constexpr std::size_t most_trimmed =
    2; // a lead-in or step-over at the contour's height is one element or two

// Which elements at the ends of a contour run beside another one. What does not is a lead or a step-over.
class EndsBeside {
public:
  EndsBeside(Contour const& one, Contour const& other, StackLimits const& limits)
      : one_(one)
      , course_(other.segments, other.closed, limits.max_shift) {}

  bool beside(std::size_t j) const {
    Segment const& s = one_.segments[j];
    auto const foot = course_.nearest(s.point_at(0.5), s.direction_at_share(0.5));
    return foot && !foot->beyond;
  }
  // One of the first `front` or of the last `back` elements does.
  bool any(std::size_t front, std::size_t back) const {
    std::size_t const n = one_.segments.size();
    for (std::size_t j = 0; j < front; ++j)
      if (beside(j)) return true;
    for (std::size_t j = n - back; j < n; ++j)
      if (beside(j)) return true;
    return false;
  }
  // How many elements at the front and at the back do not.
  std::pair<std::size_t, std::size_t> leads() const {
    std::size_t const n = one_.segments.size();
    std::size_t front = 0, back = 0;
    while (front < most_trimmed && front + 1 < n && !beside(front))
      ++front;
    while (back < most_trimmed && front + back + 1 < n && !beside(n - 1 - back))
      ++back;
    return {front, back};
  }

private:
  Contour const& one_;
  Course course_;
};

std::optional<Counterpart> match_open(Contour const& a, Contour const& b, StackLimits const& limits) {
  std::optional<Counterpart> best;
  Contour whole; // b as the best match tells it
  std::size_t front_of_b = 0, back_of_b = 0;
  std::size_t fewest = ~std::size_t{0};
  for (bool const backwards : {false, true}) {
    Contour told = b;
    if (backwards) told.tell_backwards();
    Elements const whole_a{a.segments};
    Elements const whole_b{told.segments};
    for (std::size_t af = 0; af <= most_trimmed; ++af)
      for (std::size_t ab = 0; ab <= most_trimmed; ++ab)
        for (std::size_t bf = 0; bf <= most_trimmed; ++bf) {
          if (whole_a.size() <= af + ab) continue;
          std::size_t const size = whole_a.size() - af - ab;
          if (whole_b.size() < size + bf || whole_b.size() - size - bf > most_trimmed) continue;
          std::size_t const bb = whole_b.size() - size - bf;
          std::size_t const trimmed = af + ab + bf + bb;
          if (trimmed >= fewest) continue;
          if (!alike(whole_a.subspan(af, size), whole_b.subspan(bf, size), limits)) continue;
          fewest = trimmed;
          front_of_b = bf;
          back_of_b = bb;
          whole = told;
          Counterpart match{told, af, ab};
          match.contour.segments.assign(whole_b.begin() + static_cast<std::ptrdiff_t>(bf),
                                        whole_b.begin() + static_cast<std::ptrdiff_t>(bf + size));
          best = std::move(match);
        }
  }
  // Chords of another number are made as many by leaving out what is no lead: they are not each other's.
  if (best && fewest > 0 &&
      (EndsBeside(a, whole, limits).any(best->trim_front, best->trim_back) ||
       EndsBeside(whole, a, limits).any(front_of_b, back_of_b)))
    return std::nullopt;
  return best;
}

// The start of a loop may have moved along it; both are then told without their starts.
std::optional<Counterpart> match_loop_as_told(Contour const& a, Contour const& b, StackLimits const& limits) {
  if (a.start_share == 0 && a.start_element == 0 && alike(a.segments, b.segments, limits))
    return Counterpart{b, 0, 0};
  Contour told = b;
  told.forget_start(limits.tolerance);
  Contour model = a;
  model.forget_start(limits.tolerance);
  if (model.segments.size() != told.segments.size()) return std::nullopt;
  // A start parts one element; where more have been joined they were the chords of a curve.
  constexpr std::size_t most_joined = 4;
  if (told.segments.size() + most_joined < b.segments.size() ||
      model.segments.size() + most_joined < a.segments.size())
    return std::nullopt;
  for (std::size_t first = 0; first < told.segments.size(); ++first) {
    if (!alike(model.segments.front(), told.segments[first], limits)) continue;
    Contour turned = told;
    turned.rotate_to(first);
    if (alike(model.segments, turned.segments, limits)) return Counterpart{std::move(turned), 0, 0};
  }
  return std::nullopt;
}

std::optional<Counterpart> match_loop(Contour const& a, Contour const& b, StackLimits const& limits) {
  if (auto match = match_loop_as_told(a, b, limits)) return match;
  Contour other_way = b;
  other_way.tell_backwards();
  return match_loop_as_told(a, other_way, limits);
}

// Pieces of a longer course that happen to lie at one height each, as in a raster, are no levels: they lie
// one after the other, or the tool cuts its way to the next through far more than it cuts on them.
bool are_levels(Contour const& a, Contour const& b) {
  return b.fed_before <= longest_way_between * std::min(a.length(), b.length()) && one_above_other(a, b);
}

// The elements that an open contour gives up at its ends are left to the links.
void trim(Contour& contour, std::size_t front, std::size_t back) {
  contour.segments.erase(contour.segments.end() - static_cast<std::ptrdiff_t>(back), contour.segments.end());
  contour.segments.erase(contour.segments.begin(),
                         contour.segments.begin() + static_cast<std::ptrdiff_t>(front));
}

// Whatever the two are made of, they run beside each other.
std::optional<Counterpart> match_in_plan(Contour const& a, Contour const& b, StackLimits const& limits) {
  bool backwards = false;
  if (!run_beside(a, b, limits.max_shift, backwards)) return std::nullopt;
  Counterpart match{b, 0, 0};
  if (backwards) match.contour.tell_backwards();
  if (a.closed) return match;
  std::tie(match.trim_front, match.trim_back) = EndsBeside(a, match.contour, limits).leads();
  auto const [front, back] = EndsBeside(match.contour, a, limits).leads();
  trim(match.contour, front, back);
  return match;
}

// A stack while it grows: takes the next level in if it is the counterpart of the last, telling its contours
// in the order of the first.
class Growing {
public:
  Growing(Level first, StackLimits const& limits)
      : limits_(limits) {
    levels_.push_back(std::move(first));
  }

  /// `prefix`: only the first contours of the level need match (its last contour cut once more at the same
  /// height).
  ///
  /// `any_way`: its height may lie on either side of the last one.
  bool take(Level const& next, bool prefix, bool any_way = false) {
    Level const& last = levels_.back();
    std::size_t const count = last.contours.size();
    if (prefix ? next.contours.size() <= count : next.contours.size() != count) return false;
    if (!any_way && levels_.size() >= 2 && (next.z < last.z) != (last.z < levels_[levels_.size() - 2].z))
      return false;
    std::optional<Matches> matched;
    for (bool const in_plan : {false, true}) {
      if (!in_plan && !by_element_) continue;
      for (bool const from_the_last : {false, true})
        if (!matched && (!from_the_last || (count > 1 && !prefix)))
          matched = match(last, next, in_plan, from_the_last);
    }
    if (!matched || !turns_alike(*matched)) return false;
    auto& [matches, in_plan, from_the_last] = *matched;
    Level told;
    told.z = next.z;
    told.from_the_last = from_the_last;
    for (std::size_t c = 0; c < count; ++c) {
      for (Level& level : levels_) {
        // Elements that are not the same on every level are given up by the one that has them.
        if (in_plan && &level != &levels_.back()) continue;
        if (matches[c].trim_front + matches[c].trim_back > 0)
          trim(level.contours[c], matches[c].trim_front, matches[c].trim_back);
        // Once one loop is told without its start, all of the stack are.
        if (!in_plan && level.contours[c].segments.size() != matches[c].contour.segments.size())
          level.contours[c].forget_start(limits_.tolerance);
      }
      told.contours.push_back(std::move(matches[c].contour));
    }
    levels_.push_back(std::move(told));
    by_element_ = by_element_ && !in_plan;
    return true;
  }

  std::size_t size() const { return levels_.size(); }

  Stack finish() {
    for (std::size_t c = 0; c < levels_.front().contours.size(); ++c) {
      if (by_element_ && !levels_.front().contours[c].closed) trim_leads(c);
      for (Level& level : levels_)
        settle_steps(level.contours[c]);
    }
    return {std::move(levels_), by_element_, {}};
  }

private:
  // A level's contours as counterparts of those of the last one.
  struct Matches {
    std::vector<Counterpart> contours;
    bool in_plan = false; ///< some of them run beside each other only
    bool from_the_last = false;

    bool reversed() const { return contours.front().contour.reversed; }
  };

  std::optional<Matches> match(Level const& last, Level const& next, bool in_plan, bool from_the_last) const {
    std::size_t const count = last.contours.size();
    Matches matches{{}, false, from_the_last};
    for (std::size_t c = 0; c < count; ++c) {
      Contour const& own = last.contours[c];
      Contour const& other = next.contours[from_the_last ? count - 1 - c : c];
      if (own.closed != other.closed) return std::nullopt;
      auto found = !by_element_ ? std::nullopt
                   : own.closed ? match_loop(own, other, limits_)
                                : match_open(own, other, limits_);
      if (!found && in_plan) {
        found = match_in_plan(own, other, limits_);
        matches.in_plan = true;
      }
      if (!found || (!other.closed && !are_levels(own, found->contour))) return std::nullopt;
      // The contours of a level are all cut the same way round as on the first one, or all the other way.
      if (c > 0 && found->contour.reversed != matches.reversed()) return std::nullopt;
      matches.contours.push_back(std::move(*found));
    }
    return matches;
  }

  // Levels that are cut the other way than the first are so all in the same manner.
  bool turns_alike(Matches const& matches) {
    bool const reversed = matches.reversed(), from_the_last = matches.from_the_last;
    if (!reversed && !from_the_last) return true;
    std::pair const manner{reversed, from_the_last};
    if (turned_ && *turned_ != manner) return false;
    turned_ = manner;
    return true;
  }

  // Elements at the ends of an open contour that do not move along their normal as its body does from the
  // first level to the last: leads.
  void trim_leads(std::size_t c) {
    Elements const first{levels_.front().contours[c].segments};
    Elements const last{levels_.back().contours[c].segments};
    std::vector<std::pair<double, double>> shifts; // normal shift, length
    double total = 0;
    for (std::size_t j = 0; j < first.size(); ++j) {
      Vec2 const left = left_normal(first[j].direction_at_share(0.5));
      shifts.emplace_back(dot(left, last[j].point_at(0.5) - first[j].point_at(0.5)), first[j].length());
      total += first[j].length();
    }
    auto sorted = shifts;
    std::sort(sorted.begin(), sorted.end());
    double median = 0;
    double sum = 0;
    for (auto const& [shift, length] : sorted) {
      median = shift;
      sum += length;
      if (sum >= total / 2) break;
    }
    double const allowance = std::max(5 * limits_.tolerance, 0.02 * std::abs(median));
    auto const moves_along = [&](std::size_t j) { return std::abs(shifts[j].first - median) <= allowance; };
    std::size_t front = 0;
    while (front + 1 < shifts.size() && !moves_along(front))
      ++front;
    std::size_t back = 0;
    while (front + back + 1 < shifts.size() && !moves_along(shifts.size() - 1 - back))
      ++back;
    if (front + back == 0) return;
    for (Level& level : levels_)
      trim(level.contours[c], front, back);
  }

  static void settle_steps(Contour& contour) {
    if (contour.closed) return; // a loop keeps the steps it was found with
    contour.first_step = std::min(contour.segments.front().step, contour.segments.back().step);
    contour.last_step = std::max(contour.segments.front().step, contour.segments.back().step);
  }

  StackLimits const& limits_;
  std::vector<Level> levels_;
  bool by_element_ = true;
  std::optional<std::pair<bool, bool>>
      turned_; ///< contours reversed, order reversed: of levels that are turned
};

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

// Numbers of the levels from `first` that are cut in groups, group by group: one way within each group, the
// groups themselves the other way, none reaching into the next. Two groups of two levels at least, else
// nothing.
std::vector<std::size_t> group_sizes(std::vector<Level> const& levels, std::size_t first, std::size_t end) {
  if (end < first + 4) return {};
  double const way = levels[first + 1].z > levels[first].z ? 1 : -1;
  std::vector<std::size_t> sizes;
  double largest_step = 0;
  for (std::size_t at = first; at < end;) {
    std::size_t next = at + 1;
    while (next < end && way * (levels[next].z - levels[next - 1].z) > same_height)
      ++next;
    if (at > first) {
      // The end of this group must lie beyond the beginning of the one before, one step away.
      double const gap = way * (levels[at - sizes.back()].z - levels[next - 1].z);
      if (gap <= same_height || gap > 2 * largest_step) break;
    }
    for (std::size_t i = at + 1; i < next; ++i)
      largest_step = std::max(largest_step, std::abs(levels[i].z - levels[i - 1].z));
    sizes.push_back(next - at);
    at = next;
  }
  bool const several = std::count_if(sizes.begin(), sizes.end(), [](std::size_t n) { return n > 1; }) > 1;
  return several && sizes.front() > 1 ? sizes : std::vector<std::size_t>{};
}

// Puts the levels of a stack that is cut in groups in the order of their heights.
void sort_by_height(Stack& stack, std::vector<std::size_t> const& sizes) {
  std::vector<std::size_t> order(stack.levels.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return stack.levels[a].z > stack.levels[b].z; });
  std::vector<std::size_t> place(order.size());
  std::vector<Level> sorted;
  for (std::size_t i = 0; i < order.size(); ++i) {
    place[order[i]] = i;
    sorted.push_back(std::move(stack.levels[order[i]]));
  }
  stack.levels = std::move(sorted);
  std::size_t at = 0;
  for (std::size_t const size : sizes) {
    stack.groups.emplace_back(place.begin() + static_cast<std::ptrdiff_t>(at),
                              place.begin() + static_cast<std::ptrdiff_t>(at + size));
    at += size;
  }
}

// The stack in groups that begins with level `first`, and the level behind it; none when there is none.
std::optional<std::pair<Stack, std::size_t>> grouped_from(std::vector<Level> const& levels, std::size_t first,
                                                          StackLimits const& limits) {
  Growing growing(levels[first], limits);
  std::size_t end = first + 1;
  while (end < levels.size() && growing.take(levels[end], false, true))
    ++end;
  std::vector<std::size_t> const sizes = group_sizes(levels, first, end);
  if (sizes.empty()) return std::nullopt;
  std::size_t const count = std::accumulate(sizes.begin(), sizes.end(), std::size_t{0});
  Growing own(levels[first], limits);
  for (std::size_t i = 1; i < count; ++i)
    own.take(levels[first + i], false, true);
  Stack stack = own.finish();
  sort_by_height(stack, sizes);
  return std::pair{std::move(stack), first + count};
}

bool is_multiple(double value, double unit) {
  double const n = value / unit;
  // 1e-6 of a digit: far above the rounding of doubles at machine sizes, far below a digit.
  return std::abs(n - std::round(n)) < 1e-5;
}

} // namespace

std::optional<std::size_t> Stack::cut_after(std::size_t k) const {
  if (!grouped()) return k + 1 < levels.size() ? std::optional(k + 1) : std::nullopt;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    auto const found = std::find(groups[g].begin(), groups[g].end(), k);
    if (found == groups[g].end()) continue;
    if (found + 1 != groups[g].end()) return *(found + 1);
    return g + 1 < groups.size() ? std::optional(groups[g + 1].front()) : std::nullopt;
  }
  return std::nullopt;
}

std::vector<Stack> find_stacks(std::vector<Contour> contours, StackLimits const& limits) {
  std::vector<Level> const levels = levels_of(std::move(contours));
  std::vector<Stack> stacks;
  std::size_t i = 0;
  while (i < levels.size()) {
    Growing growing(levels[i], limits);
    std::size_t end = i + 1;
    while (end < levels.size() && growing.take(levels[end], false))
      ++end;
    // A pass often ends with its last contour cut once more at the same height.
    if (end < levels.size() && growing.size() > 1 && growing.take(levels[end], true)) ++end;
    // Heights that turn back may do so in groups.
    if (growing.size() > 1 && end < levels.size() && growing.size() == end - i) {
      if (auto grouped = grouped_from(levels, i, limits)) {
        stacks.push_back(std::move(grouped->first));
        i = grouped->second;
        continue;
      }
    }
    bool const tall = growing.size() >= limits.min_levels;
    if (tall) stacks.push_back(growing.finish());
    // Levels that made no stack may still be the beginning of one that starts a level later.
    i = tall ? end : i + 1;
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
