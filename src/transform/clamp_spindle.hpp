#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Lowers spindle speeds above the machine's, and with them the feeds per minute, so that the chip load stays
/// as it was; never raises either, never moves a point. A speed below the machine's least is a warning only:
/// a faster spindle would change the chip load. M4 on a machine without it is an error.
std::unique_ptr<motion::StepSource> make_clamp_spindle(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
