#pragma once

#include "finish/contour.hpp"

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
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

  /// The nearest place whatever its direction; none within reach.
  std::optional<Foot> nearest(Vec2 p) const;

  /// Like nearest with a direction, where the place is known to be near element `hint` and no farther off
  /// than `surely` mm; otherwise it is looked for everywhere.
  std::optional<Foot> nearest_about(std::size_t hint, Vec2 p, Vec2 direction, double surely) const;

  /// Makes ready for questions from several threads at once.
  void prepare() const {
    if (begin_.empty()) lay_grid();
  }

  /// Vertices 0 ... n; for a loop the last is the first. The unit direction of the course at a vertex.
  std::size_t vertices() const { return segments_.size() + (closed_ ? 0 : 1); }
  Vec2 vertex(std::size_t i) const { return i < segments_.size() ? segments_[i].from : segments_.back().to; }
  Vec2 direction_at_vertex(std::size_t i) const;

  /// Calls with points of the course, the direction there and the length that each speaks for, mm: the
  /// vertices of chords, places along lines and arcs.
  void for_samples(std::function<void(Vec2 at, Vec2 direction, double weight)> const& use) const;

private:
  // The nearest place found so far.
  struct Search {
    Vec2 p{}, direction{};
    double alike = 0; // cosine of the widest angle between the directions
    double least = 0; // mm
    std::optional<Foot> best{};
  };
  void try_element(std::size_t j, Search& search) const;
  void try_cells(Search& search) const;
  std::optional<Foot> result_of(Search const& search) const;
  bool foot_on(std::size_t j, Vec2 p, double least, Foot& foot, double& away, Vec2& direction) const;
  void lay_grid() const;
  std::int64_t column(double x) const;
  std::int64_t row(double y) const;

  std::span<Segment const> segments_;
  bool closed_;
  double reach_, cell_;      ///< mm
  std::vector<double> bend_; ///< per element: angle of the arc that a chord stands for, positive to the left
  std::vector<double> length_; ///< per element
  Vec2 low_{}, high_{};
  // Elements by cell, laid when it is first needed: those of cell c are elements_[begin_[c]] ...
  // elements_[begin_[c + 1] - 1].
  mutable std::int64_t columns_ = 0, rows_ = 0;
  mutable std::vector<std::uint32_t> begin_, elements_;
};

/// Per element: the angle of the arc that a chord stands for, radians, positive to the left; 0 for lines and
/// arcs.
std::vector<double> bends_of(std::span<Segment const> segments, bool closed);

/// The largest sagitta of the chords in a contour, mm.
double largest_sagitta(std::span<Segment const> segments, bool closed);

/// True when the two elements that meet at a vertex are chords of one curve.
bool on_curve(Segment const& before, Segment const& after);

} // namespace restep::finish
