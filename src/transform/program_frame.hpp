#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Puts the cautions at the head of the program (Context::add_cautions; behind % and the program number;
/// never twice), before its first action the words of a state block that it does not say itself before its
/// first motion (units, plane, G40, G80, G90 or G91, G94), as far as the control has them, and switches
/// spindle and coolant off before M2 and M30 where the program does not. A program without M2 or M30 gets a
/// note and nothing else. Never moves a point.
std::unique_ptr<motion::StepSource> make_program_frame(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
