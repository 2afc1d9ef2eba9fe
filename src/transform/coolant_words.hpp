#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Says coolant in the words that the machine has: M7 becomes M8 or M8 becomes M7 where only the other does
/// something (warning coolant-mapped), and neither is written where nothing does (warning coolant-missing).
/// Never moves a point.
std::unique_ptr<motion::StepSource> make_coolant_words(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
