#pragma once

#include "motion/step.hpp"
#include "transform/found_passes.hpp"
#include "transform/tool_in_use.hpp"
#include "transform/transform.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace restep::transform {

/// What is written in place of steps of an operation.
struct WrittenPass {
  std::size_t first = 0, last = 0;
  std::vector<motion::Step> steps;
};

/// The steps among which a pass was found, and what holds there.
struct PassPlace {
  std::span<motion::Step> operation;
  std::size_t free_from = 0, free_to = 0; ///< the steps of the operation that belong to no other pass
  ToolInUse const& tool;
  std::optional<motion::Step> const& speed; ///< the S in force
};

/// Re-steps and proves a pass as far as that is asked for and can be done: its new steps, or its own. Its
/// walls are marked in the operation; the context gets its report, its edit, and what the user is to be told.
WrittenPass write_pass(Context& context, PassPlace const& place, FoundPass const& found);

} // namespace restep::transform
