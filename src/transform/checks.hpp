#pragma once

#include "transform/transform.hpp"

namespace restep::transform {

/// Compares the survey of the whole program with the machine and the tool table, before anything is
/// rewritten. Findings: travel-exceeded (error), tool-too-large (error), tool-number-twice (error),
/// tool-missing, travel-unproven, flutes-short and spindle-range (warnings).
void check_limits(Context& context);

} // namespace restep::transform
