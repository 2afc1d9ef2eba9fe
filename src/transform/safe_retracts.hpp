#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Makes rapids safe: sideways only at or above the safe height (clearance_of) or where the way was shown to
/// be clear (Motion::clear), a retract by Machine::retract before the first sideways rapid from an unknown
/// height, before tool changes and at the end. Never changes where a cut starts or goes, nor the order of
/// anything. Rapids under cutter compensation or with a rotary axis are left alone with a warning.
std::unique_ptr<motion::StepSource> make_safe_retracts(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
