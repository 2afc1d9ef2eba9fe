#pragma once

#include "cutter/tool.hpp"
#include "finish/pass.hpp"
#include "finish/pass_report.hpp"
#include "finish/spiral_unroll.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace restep::finish {

/// A pass that is cut in one way down along its contour, turn after turn. Without a turn at constant height
/// at its end it is not understood.
struct SpiralPass {
  std::size_t first_step = 0, last_step = 0; ///< the closing turn included, if there is one
  tl::expected<UnrolledSpiral, std::string> spiral;
};

/// The spirals of an operation, in order; understood or not. `max_shift` as in StackLimits.
std::vector<SpiralPass> find_spirals(std::span<motion::Step const> operation, double max_shift);

struct SpiralOutcome {
  PassReport report; ///< times are left at 0: they are the caller's
  /// What takes the place of the steps from first_step to last_step when the pass was re-stepped.
  std::vector<motion::Step> steps;
  /// What was learnt about the surface, where the pass was re-stepped.
  std::optional<cutter::Meridian> meridian;
};

/// Understands one spiral and, where asked and possible, gives it new turns.
///
/// unroll -> fit meridian -> plan the course -> roll up. The first point, the last and the closing turn stay
/// as they are, to the last digit. What cannot be done leaves the pass as it was, with the reason in the
/// report. The closing turn counts as a level.
SpiralOutcome restep_spiral(std::span<motion::Step const> operation, SpiralPass const& pass,
                            cutter::Tool const* tool, int tool_number, PassRequest const& request);

} // namespace restep::finish
