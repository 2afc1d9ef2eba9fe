#pragma once

#include "interpret/rules.hpp"
#include "motion/control_word.hpp"

#include <tl/expected.hpp>

#include <string>
#include <string_view>

namespace restep::dialect {

/// What one line of a profile's templates asks for, read as the control itself will read it: remarks,
/// messages, stops, spindle stop, coolant, dwells, overrides, compensation and length offset off, and the
/// codes that the profile lists as carried. Fails in words on everything else: what moves the machine or
/// changes what later words mean is the machine profile's and the writer's matter.
tl::expected<motion::ControlWords, std::string> read_control_words(std::string_view line,
                                                                   interpret::ReadRules const& rules);

/// `replace` may name this code: the control's own meaning of it neither moves the machine nor turns the
/// spindle.
bool is_replaceable(std::string_view code);

} // namespace restep::dialect
