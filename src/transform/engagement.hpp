#pragma once

#include "transform/transform.hpp"

namespace restep::transform {

/// Fills in how the tool is engaged in each pass that was found (effective diameter, chip thinning), before
/// and after, and compares the stepdown and stepover of re-stepped passes with the tool table. Findings:
/// stepdown-large, stepover-large (warnings). Call when all passes are in `context.passes`.
void judge_passes(Context& context);

} // namespace restep::transform
