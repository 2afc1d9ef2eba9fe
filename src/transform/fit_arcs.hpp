#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Writes arcs and helices for the chords that stand for them, within Context::path_tolerance.
std::unique_ptr<motion::StepSource> make_fit_arcs(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
