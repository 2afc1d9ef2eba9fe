#pragma once

#include "finish/offsets.hpp"
#include "finish/shape.hpp"
#include "finish/stack.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <span>
#include <string>
#include <variant>
#include <vector>

namespace restep::finish {

/// A level of the pass as it will be cut: one of the program's own (its index in cutting order), or a new
/// one.
using PlannedLevel = std::variant<std::size_t, ShapedLevel>;

/// What rapids from or to levels above the program's own must keep. What stands there has not been cut by the
/// program; see way_in.hpp for the tool's way to the first of them.
struct RapidRule {
  double above = 0; ///< z of the program's uppermost level: the rule is for links that touch a higher one
  double clear = 0; ///< from this z on sideways rapids are free: clear_height
  /// Lower ones, from level to level of loops, keep within this distance of the contours' starts and ends,
  /// mm: there the level before has cut everything away. 0: none may.
  double reach = 0;
};

/// Strings levels, given in cutting order group by group (one group where the stack has none), together into
/// steps: the program's own levels with their own steps, new levels shaped after the nearest of the
/// program's, links after the law of the program's links. Begins with the first step of the first level and
/// ends with the last step of the last. `rule`: of the rapids where levels stand above the program's own;
/// null where none do.
tl::expected<std::vector<motion::Step>, std::string>
assemble(std::span<motion::Step const> operation, Stack const& stack, Offsets const& offsets,
         std::vector<std::vector<PlannedLevel>> const& groups, double resolution,
         RapidRule const* rule = nullptr);

} // namespace restep::finish
