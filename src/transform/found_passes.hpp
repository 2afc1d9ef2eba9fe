#pragma once

#include "cutter/tool.hpp"
#include "finish/raster.hpp"
#include "finish/rising_spiral.hpp"
#include "finish/spiral.hpp"
#include "finish/stack.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <span>
#include <variant>
#include <vector>

namespace restep::transform {

/// A finishing pass among the steps of an operation, of whichever kind.
struct FoundPass {
  std::size_t first = 0, last = 0; ///< steps
  std::variant<finish::Stack, finish::SpiralPass, finish::RisingSpiral, finish::RasterPass> pass;
};

/// Loops at heights one below the other, by steps as small as those of a finishing pass, that are in no pass.
struct UnreadLoops {
  std::size_t heights = 0;
  double top = 0, bottom = 0;      ///< the first and the last of them
  std::size_t first = 0, last = 0; ///< steps

  /// It goes down from this height to that one as from level to level of a finishing pass.
  static bool goes_on(double from, double to);
};

struct FoundPasses {
  std::vector<FoundPass> passes; ///< in program order
  std::vector<UnreadLoops> unread;
};

/// The passes of an operation. `goes_down`: levels or turns may be among the steps; `lines`: lines over a
/// surface may be. The tool that cuts them may be null.
FoundPasses find_passes(std::span<motion::Step const> operation, cutter::Tool const* tool, bool goes_down,
                        bool lines);

/// True when the steps end in levels of a stack that may go on.
bool stack_goes_on(std::span<motion::Step const> steps, cutter::Tool const* tool);

} // namespace restep::transform
