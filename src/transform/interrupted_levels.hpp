#pragma once

#include "transform/found_passes.hpp"
#include "transform/pass_notes.hpp"
#include "transform/transform.hpp"

#include <cstddef>
#include <cstdint>

namespace restep::transform {

/// Loops at heights one below the other that are no pass: those of one operation where the order of their
/// contours is the reason, and those with other words than motion between them, each of which ends an
/// operation. Says so once for each run of them where a finish was asked for.
class InterruptedLevels {
public:
  explicit InterruptedLevels(Context& context)
      : context_(context) {}

  /// Takes loops of the operation that has just ended, whose steps lie between these places.
  void add(UnreadLoops const& loops, text::Place const& first, text::Place const& last) {
    if (heights_ > 0 && !UnreadLoops::goes_on(bottom_, loops.top)) end();
    if (heights_ == 0) first_ = first;
    heights_ += loops.heights;
    ++operations_;
    bottom_ = loops.bottom;
    last_line_ = last.line;
  }

  /// What comes next does not go on with them.
  void end() {
    constexpr std::size_t pass = 5; // heights
    if (heights_ >= pass)
      note_unread(
          context_, heights_, first_, last_line_,
          operations_ > 1
              ? "other words than those of motion (a dwell, coolant) stand between the levels"
              : "neighbouring levels do not have the same contours beside each other, in the same "
                "order or the opposite one",
          "post the contours of every level in the same order, without other words between the levels");
    heights_ = operations_ = 0;
  }

private:
  Context& context_;
  text::Place first_{};
  std::uint32_t last_line_ = 0;
  std::size_t heights_ = 0;
  std::size_t operations_ = 0;
  double bottom_ = 0;
};

} // namespace restep::transform
