#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Makes tool changes complete: spindle and coolant off before, on again before the next cut when they were
/// on and the program does not say so itself. Where the tool is changed by hand (Machine::tool_change, or a
/// control without M6) T and M6 become a message that names the tool and a program stop. Where the control
/// has no tool length offset, G43 and G49 become the request to touch off. Where the machine's profile asks
/// for it the program itself touches off on a contact plate behind the stop; G43 and G49 are then left out.
/// Errors: touch-off-lost, touch-off-systems. Never moves a point; the retract is the business of
/// safe-retracts.
std::unique_ptr<motion::StepSource> make_tool_change(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
