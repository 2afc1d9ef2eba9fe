#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Writes lines that follow each other in one direction as one, within Context::path_tolerance.
std::unique_ptr<motion::StepSource> make_join_lines(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
