#pragma once

#include "motion/step.hpp"

#include <span>

namespace restep::transform {

/// A block that stands in front of the program proper: percent, program number or a blank line; a remark may
/// stand beside them.
bool belongs_to_the_head(std::span<motion::Step const> block);

} // namespace restep::transform
