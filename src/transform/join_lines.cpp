// Makes one line of lines that go the same way.
//
//   in   G1 X10 | X20 | X30 Y0.001 | X40 | Y20
//   out  G1 X40 | Y20
//
// A control that reads few blocks a second stutters where a straight way is written in many short ones. Only
// lines of one run (see RunStage) are joined, each time as many as the tolerance allows, none across a corner
// and none that turns back.

#include "transform/join_lines.hpp"

#include "proof/deviation.hpp"
#include "transform/run_stage.hpp"

#include <algorithm>
#include <span>
#include <vector>

namespace restep::transform {

namespace {

using motion::Motion;
using motion::Step;
using motion::Vec3;

// A turn that no rounding of short lines explains is a corner that somebody meant.
constexpr double sharpest_turn = geometry::radians(10);

class JoinLines final : public RunStage {
public:
  JoinLines(motion::StepSource& upstream, Context& context)
      : RunStage(upstream, context, "join-lines", "longer ones") {}

private:
  std::vector<Motion> lines_;

  void reshape(std::span<Step const> run, Ends const& /*ends*/) override {
    lines_ = motions_of(run);
    std::vector<std::size_t> const ends = stretch_ends(lines_, sharpest_turn);
    for (std::size_t first = 0; first < run.size(); first = ends[first]) {
      std::vector<std::size_t> parts = parts_of(first, ends[first]);
      balance(parts);
      for (std::size_t i = 0; i + 1 < parts.size(); ++i)
        write(run, parts[i], parts[i + 1]);
    }
  }

  /// Where the joined lines of a stretch begin, and its end: each as long as can be.
  std::vector<std::size_t> parts_of(std::size_t first, std::size_t end) const {
    std::vector<std::size_t> parts{first};
    while (first < end) {
      std::size_t const count =
          longest(2, end - first, [&](std::size_t tried) { return joins(first, first + tried); });
      first += std::max<std::size_t>(count, 1);
      parts.push_back(first);
    }
    return parts;
  }

  /// A short rest behind a long line leaves the corner between them so near to the line over both that it
  /// would be joined next time, away from the program's own path. It is put where the path is furthest from
  /// that line.
  void balance(std::vector<std::size_t>& parts) const {
    for (std::size_t i = 1; i + 1 < parts.size(); ++i) {
      std::size_t const begin = parts[i - 1], end = parts[i + 1];
      Motion const over = joined(begin, end);
      if (off(over, parts[i]) > tolerance()) continue;
      std::size_t furthest = begin + 1;
      for (std::size_t k = begin + 1; k < end; ++k)
        if (off(over, k) > off(over, furthest)) furthest = k;
      if (joins(begin, furthest) && joins(furthest, end)) parts[i] = furthest;
    }
  }

  Motion joined(std::size_t begin, std::size_t end) const {
    Motion line = lines_[begin];
    line.to = lines_[end - 1].to;
    return line;
  }

  /// The distance of a line's start from another line, mm.
  double off(Motion const& over, std::size_t line) const {
    Vec3 const way = over.to - over.from, arm = lines_[line].from - over.from;
    double const square = dot(way, way);
    return geometry::length(square > 0 ? arm - (dot(arm, way) / square) * way : arm);
  }

  /// Every end within the tolerance of the joined line, each further along it than the one before. What lies
  /// between two ends is then no further away, on either side.
  bool joins(std::size_t begin, std::size_t end) const {
    Motion const line = joined(begin, end);
    Vec3 const way = line.to - line.from;
    double const square = dot(way, way);
    if (!(square > 0)) return false;
    double along = 0;
    for (std::size_t i = begin + 1; i < end; ++i) {
      double const share = dot(lines_[i].from - line.from, way) / square;
      if (!(share > along) || !(share < 1) || !(off(line, i) <= tolerance())) return false;
      along = share;
    }
    return true;
  }

  void write(std::span<Step const> run, std::size_t begin, std::size_t end) {
    std::span<Step const> const part = run.subspan(begin, end - begin);
    if (part.size() == 1) return keep(part);
    Motion const line = joined(begin, end);
    double const apart = proof::deviation({lines_.data() + begin, part.size()}, line);
    if (apart <= tolerance())
      replace(part, line, apart, "line");
    else
      keep(part);
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_join_lines(motion::StepSource& upstream, Context& context) {
  return std::make_unique<JoinLines>(upstream, context);
}

} // namespace restep::transform
