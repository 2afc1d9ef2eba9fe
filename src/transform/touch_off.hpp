#pragma once

#include "motion/machine.hpp"
#include "motion/step.hpp"

#include <vector>

/// Touching off on a contact plate. The stage that changes tools puts the blocks in; stages behind it must
/// know them from the program's own, because they name the heights themselves.
namespace restep::transform {

/// Down until the tool touches the plate, up a little, down again slowly, the offset, and up to `lift` (work
/// coordinates, mm). The tool stands at an unknown height before and at `lift` afterwards; X and Y stay.
std::vector<motion::Event> touch_off_moves(motion::ContactPlate const& plate, double lift);

/// Follows a stream through the blocks of touch_off_moves: from the first offset to the stop at which the
/// plate is removed.
class TouchOffPhase {
public:
  /// Takes one more step; true while it belongs to a touch-off.
  bool take(motion::Step const& step);

  /// A touch-off has begun and its last stop has not been seen yet.
  bool active() const { return active_; }

private:
  bool active_ = false;
};

} // namespace restep::transform
