#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Says words by the names that the control has for them, and leaves out those it does not take, as the
/// dialect's `replace` lists them. Words that move the machine or turn the spindle are never replaced.
std::unique_ptr<motion::StepSource> make_replace_words(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
