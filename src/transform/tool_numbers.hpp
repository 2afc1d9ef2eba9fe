#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Calls tools by the numbers that they have in the target machine (PartSetting::tool_numbers): T, M6 and the
/// length and radius offsets that carry the number of the tool in the spindle. Never moves a point. A length
/// or radius offset of another number is left as it is, with a warning (offset-number).
std::unique_ptr<motion::StepSource> make_tool_numbers(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
