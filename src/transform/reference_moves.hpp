#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Replaces moves in machine coordinates and to reference points that the control has no words for. Z goes by
/// the machine's retract policy instead; X and Y, which only park, stay where they are, with a warning. The
/// moves behind continue from where the axes then stand. Errors: reference-left-out, where the program goes
/// on from a reference point without saying its place.
std::unique_ptr<motion::StepSource> make_reference_moves(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
