#pragma once

#include "motion/step.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

namespace restep::report {

/// What a stretch of the path does, as the figures tell it apart.
enum class StretchKind : std::uint8_t { cut, rapid, retract };

/// One straight stretch of the path; arcs are several. Where a stretch does not begin at the end of the one
/// before it, the way between is not known.
struct Stretch {
  std::array<float, 3> from{}, to{}; ///< mm, work coordinates
  float feed = 0;                    ///< mm/min; 0 for rapids and for feeds that are not per minute
  float rpm = 0;                     ///< spindle speed in force
  int tool = 0;                      ///< in the spindle; 0 where no change was seen
  std::uint32_t block = 0;           ///< index into Toolpath::blocks
  StretchKind kind = StretchKind::cut;
  bool edited = false; ///< changed or added by the rewrite
  float off = 0;       ///< mm by which it may lie beside the course it stands for
};

/// The block a stretch comes from.
struct PathBlock {
  std::uint32_t line = 0;   ///< in the program whose path this is
  std::uint32_t source = 0; ///< in the program that was read; 0 where nothing corresponds
  std::string text;
};

/// The course of a whole program for drawing. Memory is bounded: where there are more stretches than the
/// limit, neighbours of one kind are drawn as one straight line as long as it stays within a tolerance of the
/// course, and the tolerance grows until the rest fits.
class Toolpath {
public:
  explicit Toolpath(std::size_t limit = 100'000)
      : limit_(limit) {}

  /// A motion and the block it stands in; `text` is asked for only when the stretch is kept. The parts of a
  /// cycle behind its first do not `count`.
  template <class Text>
  void add(motion::Motion const& motion, PathBlock block, bool edited, float rpm, int tool, Text const& text,
           bool counts = true) {
    motions_ += counts;
    if (!motion::is_known(motion.from) || !motion::is_known(motion.to) || motion.rotary) {
      undrawn_ += counts;
      return;
    }
    if (blocks_.empty() || blocks_.back().line != block.line) {
      block.text = text();
      blocks_.push_back(std::move(block));
    }
    append(motion, edited, rpm, tool);
    // Drawn as one with the stretch before: the block is not needed.
    if (stretches_.back().block + 1 != blocks_.size()) blocks_.pop_back();
  }

  std::vector<Stretch> const& stretches() const { return stretches_; }
  std::vector<PathBlock> const& blocks() const { return blocks_; }
  /// Motions seen, drawn or not.
  std::uint64_t motions() const { return motions_; }
  /// Those of them whose ends are not known or that turn a rotary axis: no line stands for them.
  std::uint64_t undrawn() const { return undrawn_; }
  /// mm; no drawn line lies further from the course. 0: nothing was left out.
  double tolerance() const { return tolerance_; }

  /// A coarser copy with at most `limit` stretches, or this path where it has no more.
  Toolpath thinned(std::size_t limit) const;

  /// The same course elsewhere, mm.
  Toolpath moved(geometry::Vec3 const& by) const;

private:
  std::size_t limit_;
  std::uint64_t motions_ = 0, undrawn_ = 0;
  double tolerance_ = 0;
  std::vector<Stretch> stretches_;
  std::vector<PathBlock> blocks_;

  void append(motion::Motion const& motion, bool edited, float rpm, int tool);
  void push(Stretch stretch);
  void shrink();
  double extent() const;
};

} // namespace restep::report
