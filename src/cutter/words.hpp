#pragma once

#include <tl/expected.hpp>

#include <span>
#include <string>
#include <string_view>

namespace restep::cutter {

/// Lower case of the ASCII letters.
std::string lower_case(std::string_view text);

/// Without blanks at the ends.
std::string_view trimmed(std::string_view text);

/// Takes a number with an optional unit (mm, um, in, uin; case ignored, the micro sign as well) from the
/// front of `text` and returns it in mm. A number without a unit is taken in mm when `bare_is_mm`, otherwise
/// it is an error. The error says what was expected.
tl::expected<double, std::string> take_length(std::string_view& text, bool bare_is_mm);

/// The word among `known` that `word` was probably meant to be: at most two letters wrong and fewer than
/// half of them; empty when none is near.
std::string_view nearest_word(std::string_view word, std::span<std::string_view const> known);

/// A length in mm with at most six decimals and no zeros at the end: "0.3", "3.175".
std::string plain_number(double value);

} // namespace restep::cutter
