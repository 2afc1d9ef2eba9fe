#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Puts in the lines that the control's profile wants at the head, before the end, around tool changes and
/// before program stops (the dialect's [templates]). They move nothing: a profile that would is refused when
/// it is read.
std::unique_ptr<motion::StepSource> make_control_lines(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
