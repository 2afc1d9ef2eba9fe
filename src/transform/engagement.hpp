#pragma once

#include "transform/transform.hpp"

namespace restep::transform {

/// Fills in how the tool is engaged in each pass that was found (effective diameter, chip thinning by its
/// depth and by its width, cutting speed there), before and after, and compares the stepdown and stepover of
/// re-stepped passes and the speed of all with the tool table. Findings: stepdown-large, stepover-large
/// (warnings), cutting-speed-engaged (note). Call when all passes are in `context.passes`.
void judge_passes(Context& context);

} // namespace restep::transform
