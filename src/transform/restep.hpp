#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

std::unique_ptr<motion::StepSource> make_restep(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
