#pragma once

#include "finish/contour.hpp"

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <unordered_map>
#include <vector>

namespace restep::finish {

/// Where a course passes nearest to a point.
struct Foot {
  std::size_t element = 0;
  double share = 0;    ///< of the element's length
  double left = 0;     ///< signed distance of the point to the left of the course, mm
  bool beyond = false; ///< the point lies beyond an end of an open course
};

/// A contour as the curve that it stands for. Runs of chords are taken as the smooth curve through their
/// vertices, so that the distance between two courses does not depend on where each of them has its vertices.
///
/// A vertex between two chords lies on a curve when the sagitta that its turn implies, min(L1, L2) tau / 8,
/// is one that a program would allow its chords; other vertices are corners. Between vertices the curve
/// stands off its chord by t (1 - t) L alpha / 2, alpha being the chord's angle, the mean of the turns at its
/// ends; a turn beside a line, three times as long as the chord or longer, counts twice (L: length of the
/// chord, t: share of it).
class Course {
public:
  /// The segments must outlive the course. `reach` mm: the farthest distance that will be asked for.
  Course(std::span<Segment const> segments, bool closed, double reach);

  /// The nearest place whose direction is within 60 degrees of `direction`; none within reach.
  std::optional<Foot> nearest(Vec2 p, Vec2 direction) const;

  /// Vertices 0 ... n; for a loop the last is the first. The unit direction of the course at a vertex.
  std::size_t vertices() const { return segments_.size() + (closed_ ? 0 : 1); }
  Vec2 vertex(std::size_t i) const { return i < segments_.size() ? segments_[i].from : segments_.back().to; }
  Vec2 direction_at_vertex(std::size_t i) const;

  /// Calls with points of the course, the direction there and the length that each speaks for, mm: the
  /// vertices of chords, places along lines and arcs.
  void for_samples(std::function<void(Vec2 at, Vec2 direction, double weight)> const& use) const;

private:
  struct Cell {
    std::int64_t x, y;
    friend bool operator==(Cell, Cell) = default;
  };
  struct Hash {
    std::size_t operator()(Cell c) const {
      return static_cast<std::size_t>(c.x) * 0x9E3779B97F4A7C15ull ^
             static_cast<std::size_t>(c.y) * 0xC2B2AE3D27D4EB4Full;
    }
  };

  Cell cell_of(Vec2 p) const;
  Foot foot_on(std::size_t j, Vec2 p, double& away, Vec2& direction) const;

  std::span<Segment const> segments_;
  bool closed_;
  double cell_;
  std::vector<double> bend_; ///< per element: angle of the arc that a chord stands for, positive to the left
  std::unordered_map<Cell, std::vector<std::size_t>, Hash> grid_;
};

/// The largest sagitta of the chords in a contour, mm.
double largest_sagitta(std::span<Segment const> segments, bool closed);

/// True when the two elements that meet at a vertex are chords of one curve.
bool on_curve(Segment const& before, Segment const& after);

/// A contour moved sideways.
struct Moved {
  std::vector<Segment> segments;
  std::vector<std::size_t> origin; ///< per segment: the element that it was
  std::vector<Vec2> vertices;      ///< where each vertex of the original went, 0 ... n
};

/// The contour moved by `shift` mm to the left of its course. Vertices on curves move along the normal of
/// the curve, corners along their bisector so that both elements move by the shift; arcs keep their centres.
/// Elements that turn round and arcs whose radius falls to `least` or below vanish, and their neighbours meet
/// where they intersect. None where the neighbours do not meet or nothing is left.
std::optional<Moved> move_left(std::span<Segment const> segments, bool closed, double shift, double least);

/// True when the two contours run beside each other, in either direction: almost all of each lies within
/// `reach` mm of the other. `backwards` is set when they run against each other.
bool run_beside(Contour const& a, Contour const& b, double reach, bool& backwards);

/// True when two open contours stand one above the other, in either direction: more than half of each lies
/// beside the other, nearer to it than half the length of the shorter one.
bool one_above_other(Contour const& a, Contour const& b);

} // namespace restep::finish
