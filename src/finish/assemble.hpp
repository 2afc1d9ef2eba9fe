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

/// Strings levels, given in cutting order group by group (one group where the stack has none), together into
/// steps: the program's own levels with their own steps, new levels shaped after the nearest of the
/// program's, links after the law of the program's links. Begins with the first step of the first level and
/// ends with the last step of the last; both must be the program's own.
tl::expected<std::vector<motion::Step>, std::string>
assemble(std::span<motion::Step const> operation, Stack const& stack, Offsets const& offsets,
         std::vector<std::vector<PlannedLevel>> const& groups, double resolution);

} // namespace restep::finish
