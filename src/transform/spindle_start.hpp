#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Waits (G4) between the start of the spindle and the next cut for as long as the spindle needs to reach its
/// speed, where the machine's profile asks for it and the program does not wait itself. Never moves a point.
std::unique_ptr<motion::StepSource> make_spindle_start(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
