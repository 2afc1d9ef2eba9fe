#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Traces rapids below the safe height through what is still standing of the material (StandingStock): those
/// that are shown to be clear are marked (Motion::clear), so that safe-retracts leaves them; one that ends in
/// stock the job told of goes there by rapid to above it and by feed from there. Built only when the survey
/// saw such rapids. Errors: rapid-into-stock, where no feed is in force. Notes: rapids-clear.
std::unique_ptr<motion::StepSource> make_trace_rapids(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
