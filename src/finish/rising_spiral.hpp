#pragma once

#include "finish/spiral.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace restep::finish {

/// A pass that is cut in one way up along its contour, from a turn at constant height at its foot on. Read
/// from its last step to its first it is a spiral as any other, and so it is understood.
struct RisingSpiral {
  std::size_t first_step = 0, last_step = 0; ///< the turn at its foot included
  std::size_t begin = 0, end = 0;            ///< the steps of the operation that are read backwards
  SpiralPass falling;                        ///< among these, read so
};

/// The rising spirals of an operation, in order; understood or not. `max_shift` as in StackLimits.
std::vector<RisingSpiral> find_rising_spirals(std::span<motion::Step const> operation, double max_shift);

/// As restep_spiral of what is read backwards: `run` are the steps from `begin` to `end`, backwards. The
/// outcome's steps run down; its report tells of the pass as it is cut.
SpiralOutcome restep_rising(std::span<motion::Step const> run, RisingSpiral const& pass,
                            cutter::Tool const* tool, int tool_number, PassRequest const& request);

} // namespace restep::finish
