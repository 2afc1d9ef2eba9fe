#pragma once

#include "finish/raster_find.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace restep::finish {

/// One piece of a line in its vertical plane: height over u, a cubic between its points.
class RasterCourse {
public:
  /// Points in rising u, at least two; `steps` the step that cuts each stretch between two of them.
  RasterCourse(std::vector<Vec2> points, std::vector<std::uint32_t> steps, bool backwards, double digit);

  double begin() const { return points_.front().x; }
  double end() const { return points_.back().x; }
  bool covers(double u) const { return u >= begin() && u <= end(); }
  bool backwards() const { return backwards_; } ///< cut towards falling u
  double at(double u) const;
  double slope(double u) const;
  std::vector<Vec2> const& points() const { return points_; }
  std::uint32_t step_at(double u) const { return steps_[stretch(u)]; }

  /// What the cubic may err between the points, mm.
  double error() const;
  /// How far the program's own chords stand off the cubic, mm.
  double chords() const;
  double lowest() const;
  double highest() const;

private:
  std::size_t stretch(double u) const;

  std::vector<Vec2> points_;
  std::vector<double> slopes_;
  std::vector<std::uint32_t> steps_;
  bool backwards_;
  double digit_;
};

/// A line of a pass in the pass's frame, its pieces in rising u.
struct RasterRow {
  double v = 0;
  std::vector<RasterCourse> pieces;
};

/// A line told in a frame. Fails when a piece goes back on itself or the pieces are not cut one after another
/// along the line.
std::optional<RasterRow> row_of(RasterLine const& line, RasterFrame const& frame, double digit);

/// What a place between known values may err when it is told by a polynomial through those nearest: `missed`
/// are the amounts by which single values beside it are missed when the others tell them.
///
/// Smooth values are missed by much the same amounts one after another, with the same sign; then the value
/// between two of them is told better by far than a value that is left out, and half the amount is a bound. A
/// kink is missed to both sides; it can be off by a little more than twice as much. What the digits alone can
/// miss (1.4 of them) is taken off, and what they do to the told value is added.
double telling_error(double const* missed, int count, double digit);

/// Polynomial through up to four values at rising places. Lagrange's form.
double polynomial(double const* places, double const* values, int count, double at);

/// The surface that the tip follows, told from the lines of a pass.
///
/// Along a line: a cubic through its points. Across the lines: at the same u, a polynomial through the four
/// nearest lines that are cut there.
class RasterSurface {
public:
  RasterSurface(std::vector<RasterRow> rows, double digit);

  std::vector<RasterRow> const& rows() const { return rows_; }
  double digit() const { return digit_; }

  /// Height of the tip at a place between rows k and k + 1, on their piece p; none where fewer than three
  /// lines tell it.
  std::optional<double> at(std::size_t k, std::size_t p, double u, double v) const;
  /// Where a line at v between rows k and k + 1 begins and ends on piece p: a straight share of their ends.
  Vec2 range(std::size_t k, std::size_t p, double v) const;
  /// Rows k and k + 1 have the same pieces beside each other.
  bool matched(std::size_t k) const;
  /// What a height at u between rows k and k + 1 may err, mm; infinite where too few lines tell it.
  double error_at(std::size_t k, std::size_t p, double u) const;
  /// The part of the strip between rows k and k + 1 in which heights are told within `allowed`: its piece p
  /// without ends that too few lines reach. None where a place that enough lines tell is in doubt.
  std::optional<Vec2> trusted(std::size_t k, std::size_t p, double allowed, double& worst) const;

private:
  int window(std::size_t k, std::size_t p, double u, int most, std::size_t* rows) const;

  std::vector<RasterRow> rows_;
  double digit_;
};

} // namespace restep::finish
