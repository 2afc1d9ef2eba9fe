#include "finish/move_left.hpp"

#include "finish/course.hpp"

#include <algorithm>

namespace restep::finish {

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
  if (n == 0) return std::nullopt;
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

} // namespace restep::finish
