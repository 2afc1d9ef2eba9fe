#include "finish/course.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::finish {

namespace {

constexpr double largest_chord_sagitta = 0.02; // mm; no finishing pass is posted coarser
constexpr double line_ratio = 3;
constexpr double sharpest_chord_turn = 0.8; // radians

double turn_between(Segment const& before, Segment const& after) {
  Vec2 const u = before.direction_at_to();
  Vec2 const v = after.direction_at_from();
  return std::atan2(cross(u, v), dot(u, v));
}

} // namespace

bool on_curve(Segment const& before, Segment const& after) {
  if (before.arc || after.arc) return false;
  double const turn = std::abs(turn_between(before, after));
  return turn <= sharpest_chord_turn &&
         std::min(before.length(), after.length()) * turn / 8 <= largest_chord_sagitta;
}

namespace {

// Per element: the angle of the arc that a chord stands for, positive to the left; 0 for lines and arcs.
std::vector<double> bends_of(std::span<Segment const> segments, bool closed) {
  std::size_t const n = segments.size();
  // The turn at a vertex is shared by the two chords: tau = (alpha_before + alpha_after) / 2. Beside a
  // straight line all of it belongs to the half chord.
  std::vector<double> turn(n + 1, 0.0);
  for (std::size_t i = closed ? 0 : 1; i < n; ++i)
    if (on_curve(segments[(i + n - 1) % n], segments[i]))
      turn[i] = turn_between(segments[(i + n - 1) % n], segments[i]);
  turn[n] = closed ? turn[0] : 0;
  std::vector<double> bend(n, 0.0);
  for (std::size_t j = 0; j < n; ++j) {
    if (segments[j].arc) continue;
    double const own = segments[j].length();
    Segment const& before = segments[(j + n - 1) % n];
    Segment const& after = segments[(j + 1) % n];
    // Chords of one curve have about the same length; what is far longer than its neighbour is a line,
    // however small the turn, and all of the turn there is the neighbour's.
    auto const line_beside = [&](Segment const& neighbour) { return neighbour.length() > line_ratio * own; };
    auto const line_itself = [&](double tau, Segment const& neighbour) {
      return tau != 0 && own > line_ratio * neighbour.length();
    };
    if (line_itself(turn[j], before) || line_itself(turn[j + 1], after)) continue;
    double const first = turn[j] * (line_beside(before) ? 2 : 1);
    double const last = turn[j + 1] * (line_beside(after) ? 2 : 1);
    double const alpha = 0.5 * (first + last);
    if (own * std::abs(alpha) / 8 > largest_chord_sagitta || first * last < 0) continue;
    bend[j] = alpha;
  }
  return bend;
}

} // namespace

double largest_sagitta(std::span<Segment const> segments, bool closed) {
  std::vector<double> const bend = bends_of(segments, closed);
  double largest = 0;
  for (std::size_t j = 0; j < bend.size(); ++j)
    largest = std::max(largest, segments[j].length() * std::abs(bend[j]) / 8);
  return largest;
}

Course::Course(std::span<Segment const> segments, bool closed, double reach)
    : segments_(segments)
    , closed_(closed) {
  std::size_t const n = segments.size();
  Vec2 low{1e300, 1e300};
  Vec2 high{-1e300, -1e300};
  for (Segment const& s : segments) {
    double const bulge = s.arc ? s.radius() : 0;
    Vec2 const middle = s.arc ? s.centre : s.from;
    low = {std::min({low.x, middle.x - bulge, s.to.x}), std::min({low.y, middle.y - bulge, s.to.y})};
    high = {std::max({high.x, middle.x + bulge, s.to.x}), std::max({high.y, middle.y + bulge, s.to.y})};
  }
  cell_ = std::max({reach, (high.x - low.x) / 256, (high.y - low.y) / 256, 1e-6});

  bend_ = bends_of(segments, closed);

  for (std::size_t j = 0; j < n; ++j) {
    auto const pieces = static_cast<int>(std::ceil(segments[j].length() / (0.5 * cell_))) + 1;
    Cell last{};
    for (int i = 0; i <= pieces; ++i) {
      Cell const cell = cell_of(segments[j].point_at(static_cast<double>(i) / pieces));
      if (i > 0 && cell == last) continue;
      auto& in_cell = grid_[cell];
      if (in_cell.empty() || in_cell.back() != j) in_cell.push_back(j);
      last = cell;
    }
  }
}

Course::Cell Course::cell_of(Vec2 p) const {
  return {static_cast<std::int64_t>(std::floor(p.x / cell_)),
          static_cast<std::int64_t>(std::floor(p.y / cell_))};
}

Vec2 Course::direction_at_vertex(std::size_t i) const {
  std::size_t const n = segments_.size();
  if (!closed_ && i == 0) return segments_.front().direction_at_from();
  if (!closed_ && i >= n) return segments_.back().direction_at_to();
  return normalized(segments_[(i + n - 1) % n].direction_at_to() + segments_[i % n].direction_at_from());
}

Foot Course::foot_on(std::size_t j, Vec2 p, double& away, Vec2& direction) const {
  Segment const& s = segments_[j];
  Foot foot{j, 0, 0, false};
  if (s.arc) {
    Vec2 const a = s.from - s.centre;
    Vec2 const b = p - s.centre;
    double angle = std::atan2(cross(a, b), dot(a, b)) * (s.ccw ? 1 : -1);
    double const sweep = s.length() / s.radius();
    if (angle < 0) angle += 2 * std::numbers::pi;
    if (angle <= sweep) {
      foot.share = angle / sweep;
      direction = s.direction_at_share(foot.share);
      foot.left = (s.ccw ? 1 : -1) * (s.radius() - length(b));
      away = std::abs(foot.left);
      return foot;
    }
    foot.share = angle - sweep < 2 * std::numbers::pi - angle ? 1 : 0;
  } else {
    Vec2 const along = s.to - s.from;
    double const l2 = dot(along, along);
    foot.share = l2 > 0 ? std::clamp(dot(p - s.from, along) / l2, 0.0, 1.0) : 0;
  }
  direction =
      s.arc ? (foot.share > 0 ? s.direction_at_to() : s.direction_at_from()) : normalized(s.to - s.from);
  Vec2 const at = foot.share >= 1 ? s.to : foot.share <= 0 ? s.from : s.point_at(foot.share);
  double const side = cross(direction, p - at);
  away = distance(p, at);
  if (foot.share <= 0 || foot.share >= 1) {
    foot.left = side < 0 ? -away : away;
  } else {
    // The curve stands off its chord to the right where the course turns left.
    foot.left = side + foot.share * (1 - foot.share) * s.length() * bend_[j] / 2;
    away = std::abs(foot.left);
  }
  return foot;
}

void Course::for_samples(std::function<void(Vec2, Vec2, double)> const& use) const {
  constexpr double long_element = 0.5; // mm
  for (std::size_t j = 0; j < segments_.size(); ++j) {
    Segment const& s = segments_[j];
    double const length = s.length();
    if (bend_[j] == 0 && (s.arc || length > long_element)) {
      for (double const share : {0.125, 0.375, 0.625, 0.875})
        use(s.point_at(share), s.direction_at_share(share), length / 4);
    } else {
      use(s.from, direction_at_vertex(j), length / 2);
      use(s.to, direction_at_vertex(closed_ ? (j + 1) % segments_.size() : j + 1), length / 2);
    }
  }
}

std::optional<Foot> Course::nearest(Vec2 p, Vec2 direction) const {
  constexpr double alike = 0.5; // cos 60 degrees
  std::optional<Foot> best;
  double least = std::numeric_limits<double>::infinity();
  Cell const here = cell_of(p);
  for (std::int64_t dx = -1; dx <= 1; ++dx)
    for (std::int64_t dy = -1; dy <= 1; ++dy) {
      auto const found = grid_.find(Cell{here.x + dx, here.y + dy});
      if (found == grid_.end()) continue;
      for (std::size_t const j : found->second) {
        double away = 0;
        Vec2 along{};
        Foot const foot = foot_on(j, p, away, along);
        if (away >= least || dot(along, direction) < alike) continue;
        least = away;
        best = foot;
      }
    }
  if (!best || least > cell_) return std::nullopt;
  if (!closed_) {
    Segment const& first = segments_.front();
    Segment const& last = segments_.back();
    best->beyond =
        (best->element == 0 && best->share <= 0 && dot(p - first.from, first.direction_at_from()) < -1e-9) ||
        (best->element + 1 == segments_.size() && best->share >= 1 &&
         dot(p - last.to, last.direction_at_to()) > 1e-9);
  }
  return best;
}

namespace {

// Where the lines of two elements meet.
std::optional<Vec2> meeting_of(Segment const& a, Segment const& b) {
  if (a.arc || b.arc) return std::nullopt;
  Vec2 const u = normalized(a.to - a.from);
  Vec2 const v = normalized(b.to - b.from);
  double const sine = cross(u, v);
  if (std::abs(sine) < 1e-3) {
    // Almost one line: anywhere between them will do.
    Vec2 const middle = 0.5 * (a.to + b.from);
    return std::abs(cross(u, b.from - a.to)) < 1e-3 ? std::optional(middle) : std::nullopt;
  }
  return a.from + cross(b.from - a.from, v) / sine * u;
}

} // namespace

std::optional<Moved> move_left(std::span<Segment const> segments, bool closed, double shift, double least) {
  std::size_t const n = segments.size();
  Moved moved;
  moved.vertices.resize(n + 1);
  for (std::size_t i = 0; i <= n; ++i) {
    bool const has_before = closed || i > 0;
    bool const has_after = closed || i < n;
    Segment const& before = segments[(i + n - 1) % n];
    Segment const& after = segments[i % n];
    Vec2 const at = i < n ? after.from : before.to;
    Vec2 const u = has_before ? before.direction_at_to() : after.direction_at_from();
    Vec2 const v = has_after ? after.direction_at_from() : u;
    Vec2 const bisector = normalized(left_normal(u) + left_normal(v));
    double const cosine = dot(bisector, left_normal(u));
    if (cosine < 0.2) return std::nullopt; // the course turns back on itself
    bool const smooth = has_before && has_after && on_curve(before, after);
    moved.vertices[i] = at + (smooth ? shift : shift / cosine) * bisector;
  }
  if (closed) moved.vertices[n] = moved.vertices[0];

  // Every element on its own moved vertices first; then what turned round goes, and its neighbours are cut
  // where they meet, until nothing turns round any more.
  std::vector<Segment> placed(segments.begin(), segments.end());
  std::vector<bool> gone(n, false);
  for (std::size_t j = 0; j < n; ++j) {
    placed[j].from = moved.vertices[j];
    placed[j].to = moved.vertices[j + 1];
    if (segments[j].arc) gone[j] = segments[j].radius() - (segments[j].ccw ? shift : -shift) <= least;
  }
  for (std::size_t round = 0; round <= n; ++round) {
    bool changed = false;
    for (std::size_t j = 0; j < n; ++j) {
      if (gone[j] || segments[j].arc) continue;
      if (dot(placed[j].to - placed[j].from, segments[j].to - segments[j].from) > 0) continue;
      gone[j] = true;
      changed = true;
    }
    std::size_t const left = static_cast<std::size_t>(std::count(gone.begin(), gone.end(), false));
    if (left < (closed ? 3u : 1u) && left < n) return std::nullopt;
    // Each run of vanished elements becomes the point where its neighbours meet.
    for (std::size_t j = 0; j < n; ++j) {
      std::size_t const next = (j + 1) % n;
      if (gone[j] || !gone[next] || (!closed && next == 0)) continue;
      std::size_t end = next;
      std::size_t passed = 0;
      while (gone[end] && passed < n) {
        end = (end + 1) % n;
        ++passed;
        if (!closed && end == 0) return std::nullopt; // an open course's end has vanished
      }
      auto const at = meeting_of(placed[j], placed[end]);
      if (!at) return std::nullopt;
      changed = changed || distance(placed[j].to, *at) > 1e-9;
      placed[j].to = placed[end].from = *at;
      for (std::size_t k = 0, i = next; k <= passed; ++k, i = (i + 1) % n)
        moved.vertices[i] = *at;
      if (closed) moved.vertices[n] = moved.vertices[0];
    }
    if (!changed) break;
  }
  if (!closed && gone.front()) return std::nullopt;
  for (std::size_t j = 0; j < n; ++j) {
    if (gone[j]) continue;
    moved.segments.push_back(placed[j]);
    moved.origin.push_back(j);
  }
  return moved;
}

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
  auto const has_foot = [&](Vec2 p, Vec2 direction) {
    auto const foot = course.nearest(p, direction);
    return foot && !foot->beyond;
  };
  for (Segment const& s : one.segments) {
    double const length = s.length();
    for (; next < counted + length; next += spacing) {
      double const share = (next - counted) / length;
      Vec2 const p = s.point_at(share);
      Vec2 const direction = s.direction_at_share(share);
      if (has_foot(p, direction)) result.with += spacing / total;
      if (has_foot(p, -direction)) result.against += spacing / total;
    }
    counted += length;
  }
  return result;
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
  double const reach = 0.5 * std::min(a.length(), b.length());
  Beside const there = beside(a, b, reach);
  Beside const back = beside(b, a, reach);
  return std::max(std::min(there.with, back.with), std::min(there.against, back.against)) > most;
}

} // namespace restep::finish
