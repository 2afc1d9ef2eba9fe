#include "finish/contour.hpp"

#include "finish/course.hpp"
#include "geometry/arc.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>
#include <unordered_map>

namespace restep::finish {

namespace {

geometry::Arc2 arc_of(Segment const& s) {
  return {s.from, s.to, s.centre, s.ccw};
}

Segment segment_of(motion::Motion const& m, std::size_t step) {
  Segment s;
  s.arc = motion::is_arc(m);
  s.ccw = m.path == motion::PathKind::arc_ccw;
  s.from = geometry::xy(m.from);
  s.to = geometry::xy(m.to);
  s.centre = geometry::xy(m.centre);
  s.step = step;
  return s;
}

struct Cell {
  std::int64_t x, y;
  friend bool operator==(Cell, Cell) = default;
};
struct CellHash {
  std::size_t operator()(Cell c) const {
    return static_cast<std::size_t>(c.x) * 0x9E3779B97F4A7C15ull ^
           static_cast<std::size_t>(c.y) * 0xC2B2AE3D27D4EB4Full;
  }
};

// The contour of a run: the shortest stretch [first, last] of segments that returns to its own start and
// makes up most of the run. (A longer one would take in a lead-out and a step-over that happen to meet the
// lead-in, as when a pass goes straight down a wall.) Start points are kept by cell of 1 um; a point near a
// cell's edge is looked up in the neighbour cells too.
struct Loop {
  std::size_t first = 0, last = 0;
  double length = 0;
};
std::optional<Loop> loop_of(std::vector<Segment> const& segments) {
  constexpr double cell = 0.001;
  constexpr double same_point = 0.0005;
  std::unordered_map<Cell, std::size_t, CellHash> first_at;
  std::vector<double> along(segments.size() + 1, 0.0);
  double total = 0;
  for (Segment const& s : segments)
    total += s.length();
  std::optional<Loop> best;
  auto const cell_of = [&](Vec2 p) { return Cell{std::llround(p.x / cell), std::llround(p.y / cell)}; };
  for (std::size_t j = 0; j < segments.size(); ++j) {
    // A loop begins in the first half of the run and ends in the second.
    constexpr double rounding = 1e-9;
    if (along[j] <= (0.5 + rounding) * total) first_at.try_emplace(cell_of(segments[j].from), j);
    along[j + 1] = along[j] + segments[j].length();
    if (along[j + 1] < (0.5 - rounding) * total) continue;
    Cell const here = cell_of(segments[j].to);
    for (std::int64_t dx = -1; dx <= 1; ++dx)
      for (std::int64_t dy = -1; dy <= 1; ++dy) {
        auto const found = first_at.find(Cell{here.x + dx, here.y + dy});
        if (found == first_at.end()) continue;
        std::size_t const i = found->second;
        if (distance(segments[i].from, segments[j].to) > same_point) continue;
        double const length = along[j + 1] - along[i];
        if (length > 0.5 * total && (!best || length < best->length)) best = Loop{i, j, length};
      }
  }
  return best;
}

Contour contour_of(std::vector<Segment>& run, double z) {
  Contour contour;
  contour.z = z;
  if (auto const loop = loop_of(run)) {
    contour.closed = true;
    contour.segments.assign(run.begin() + static_cast<std::ptrdiff_t>(loop->first),
                            run.begin() + static_cast<std::ptrdiff_t>(loop->last) + 1);
  } else {
    contour.segments = std::move(run);
  }
  contour.first_step = contour.segments.front().step;
  contour.last_step = contour.segments.back().step;
  return contour;
}

} // namespace

double Segment::length() const {
  return arc ? arc_of(*this).length() : geometry::distance(from, to);
}

Vec2 Segment::point_at(double share) const {
  if (!arc) return from + share * (to - from);
  return arc_of(*this).at(share);
}

void turn_round(std::vector<Segment>& segments) {
  std::reverse(segments.begin(), segments.end());
  for (Segment& s : segments)
    s = s.backwards();
}

Vec2 Contour::cut_start() const {
  if (closed)
    return start_share > 0 ? segments[start_element].point_at(start_share) : segments[start_element].from;
  return reversed ? segments.back().to : segments.front().from;
}

namespace {

// The direction of the curve at a vertex between two of its chords: of the circle through the vertex and two
// others, some chords away, since the program's digits turn short ones. Beside a line it is the line's. None
// at a corner and beside an arc, which tells its own.
std::optional<Vec2> tangent_at(Contour const& contour, std::vector<double> const& bends, std::size_t vertex) {
  constexpr std::size_t most_to_a_side = 4;
  constexpr double far_enough = 0.5; // mm
  std::vector<Segment> const& s = contour.segments;
  std::size_t const n = s.size();
  std::size_t const room = contour.closed ? n / 2 : std::min(vertex, n - vertex);
  auto const before = [&](std::size_t k) { return (vertex + 2 * n - 1 - k) % n; };
  auto const after = [&](std::size_t k) { return (vertex + k) % n; };
  if (room == 0 || !on_curve(s[before(0)], s[after(0)])) return std::nullopt;
  double const own = bends[before(0)], next = bends[after(0)];
  if (own == 0 || next == 0)
    return own == next
               ? std::nullopt
               : std::optional(own == 0 ? s[before(0)].direction_at_to() : s[after(0)].direction_at_from());
  auto const goes_on = [&](std::size_t earlier, std::size_t later) {
    return on_curve(s[earlier], s[later]) && bends[earlier] * own > 0 && bends[later] * own > 0;
  };
  Vec2 const at = s[after(0)].from;
  std::size_t b = 0, a = 0;
  while (b + 1 < std::min(most_to_a_side, room) && distance(s[before(b)].from, at) < far_enough &&
         goes_on(before(b + 1), before(b)))
    ++b;
  while (a + 1 < std::min(most_to_a_side, room) && distance(s[after(a)].to, at) < far_enough &&
         goes_on(after(a), after(a + 1)))
    ++a;
  // A circle has turned against the ends of two chords in proportion to their lengths.
  Vec2 const in = at - s[before(b)].from, out = s[after(a)].to - at;
  return normalized(length(out) * normalized(in) + length(in) * normalized(out));
}

// Of the course on an element, between the directions at its ends.
Vec2 tangent_on(Contour const& contour, std::size_t element, double share) {
  std::vector<Segment> const& s = contour.segments;
  Vec2 const own = s[element].direction_at_share(share);
  if (s[element].arc) return own;
  std::vector<double> const bends = bends_of(s, contour.closed);
  auto const from = tangent_at(contour, bends, element);
  if (share <= 0) return from.value_or(own);
  auto const to = tangent_at(contour, bends, (element + 1) % s.size());
  return from && to ? normalized((1 - share) * *from + share * *to) : own;
}

} // namespace

Vec2 Contour::direction_at_start() const {
  return reversed ? -told_direction_at_end() : told_direction_at_start();
}

Vec2 Contour::direction_at_end() const {
  return reversed ? -told_direction_at_start() : told_direction_at_end();
}

Vec2 Contour::told_direction_at_start() const {
  return closed ? tangent_on(*this, start_element, start_share) : segments.front().direction_at_from();
}

Vec2 Contour::told_direction_at_end() const {
  if (!closed) return segments.back().direction_at_to();
  if (start_share > 0) return told_direction_at_start();
  if (auto const tangent = tangent_at(*this, bends_of(segments, closed), start_element)) return *tangent;
  return segments[(start_element + segments.size() - 1) % segments.size()].direction_at_to();
}

void Contour::tell_backwards() {
  std::size_t const n = segments.size();
  turn_round(segments);
  reversed = !reversed;
  if (!closed) return;
  // A vertex between two elements is the start of the other one now.
  start_element = start_share > 0 ? n - 1 - start_element : (n - start_element) % n;
  if (start_share > 0) start_share = 1 - start_share;
}

// Joins neighbouring lines that are parts of one line (a start of another level left its mark there). All
// points in between must stay within the tolerance, so that a curve told in chords is not flattened bit by
// bit.
void Contour::join_parted_lines(double tolerance) {
  std::vector<Segment> joined;
  std::size_t first_of_last = 0;
  for (std::size_t j = 0; j < segments.size(); ++j) {
    Segment const& s = segments[j];
    bool one_line = !joined.empty() && !joined.back().arc && !s.arc;
    if (one_line) {
      Vec2 const from = joined.back().from;
      Vec2 const along = normalized(s.to - from);
      for (std::size_t i = first_of_last; i < j && one_line; ++i)
        one_line = std::abs(cross(along, segments[i].to - from)) <= tolerance &&
                   dot(along, segments[i].to - segments[i].from) > 0;
      one_line = one_line && dot(along, s.to - s.from) > 0;
    }
    if (one_line) {
      joined.back().to = s.to;
    } else {
      joined.push_back(s);
      first_of_last = j;
    }
  }
  segments = std::move(joined);
}

void Contour::forget_start(double tolerance) {
  if (segments.empty()) return;
  Segment const begin_of_cut = segments.front();
  bool const one_circle = std::all_of(segments.begin(), segments.end(), [&](Segment const& s) {
    return s.arc && s.ccw == begin_of_cut.ccw && distance(s.centre, begin_of_cut.centre) <= tolerance &&
           std::abs(s.radius() - begin_of_cut.radius()) <= tolerance;
  });
  if (one_circle && segments.size() <= 4) {
    // A whole circle is told from its three-o'clock point, in one arc.
    Segment circle = begin_of_cut;
    Vec2 const begin = begin_of_cut.from - begin_of_cut.centre;
    double const radius = begin_of_cut.radius();
    circle.from = circle.to = begin_of_cut.centre + Vec2{radius, 0};
    double angle = std::atan2(begin.y, begin.x) * (begin_of_cut.ccw ? 1 : -1);
    if (angle < 0) angle += 2 * std::numbers::pi;
    start_share = angle / (2 * std::numbers::pi);
    segments = {circle};
    start_element = 0;
    return;
  }
  if (segments.size() < 3 || start_share > 0) return;
  join_parted_lines(tolerance);
  Segment const last = segments.back();
  Segment const first = segments.front();
  bool joins = false;
  if (!first.arc && !last.arc) {
    Vec2 const along = normalized(first.to - last.from);
    joins = std::abs(cross(along, first.from - last.from)) <= tolerance &&
            dot(along, first.to - first.from) > 0 && dot(along, last.to - last.from) > 0;
  } else if (first.arc && last.arc && first.ccw == last.ccw) {
    joins = distance(first.centre, last.centre) <= tolerance &&
            std::abs(first.radius() - last.radius()) <= tolerance;
  }
  if (!joins) return;
  Segment whole = last;
  whole.to = first.to;
  if (first.length() > last.length()) whole.step = first.step;
  double const share = last.length() / (last.length() + first.length());
  segments.back() = whole;
  segments.erase(segments.begin());
  start_element = segments.size() - 1;
  start_share = share;
}

void Contour::rotate_to(std::size_t first) {
  std::rotate(segments.begin(), segments.begin() + static_cast<std::ptrdiff_t>(first), segments.end());
  start_element = (start_element + segments.size() - first) % segments.size();
}

void Extent::add(Vec2 p) {
  low = {std::min(low.x, p.x), std::min(low.y, p.y)};
  high = {std::max(high.x, p.x), std::max(high.y, p.y)};
}

void Extent::add(Extent const& other) {
  add(other.low);
  add(other.high);
}

Extent extent_of(Contour const& contour) {
  Extent e;
  for (Segment const& s : contour.segments)
    for (Vec2 const p : {s.from, s.to, s.point_at(0.5)})
      e.add(p);
  return e;
}

double Contour::length() const {
  double sum = 0;
  for (Segment const& s : segments)
    sum += s.length();
  return sum;
}

bool is_level_cut(motion::Motion const& m) {
  if (!motion::is_cutting(m) || m.compensated || m.rotary) return false;
  if (!motion::is_known(m.from) || !motion::is_known(m.to)) return false;
  if (!motion::is_arc(m)) return is_level_way(m.from, m.to);
  return m.plane == motion::Plane::xy && std::abs(m.from.z - m.to.z) <= same_height;
}

std::vector<Contour> find_contours(std::span<motion::Step const> operation) {
  std::vector<Contour> contours;
  std::vector<Segment> run;
  double z = 0;
  double fed = 0;
  auto const close_run = [&] {
    if (!run.empty()) {
      contours.push_back(contour_of(run, z));
      contours.back().fed_before = fed;
      fed = 0;
    }
    run.clear();
  };
  for (std::size_t i = 0; i < operation.size(); ++i) {
    motion::Motion const* m = motion::motion_of(operation[i]);
    if (m == nullptr) continue; // a remark between two blocks does not end a contour
    if (!is_level_cut(*m)) {
      close_run();
      if (motion::is_cutting(*m) && motion::is_known(m->from) && motion::is_known(m->to))
        fed += distance(m->from, m->to);
      continue;
    }
    if (!run.empty() && std::abs(m->from.z - z) > same_height) close_run();
    if (run.empty()) z = m->from.z;
    run.push_back(segment_of(*m, i));
  }
  close_run();
  return contours;
}

} // namespace restep::finish
