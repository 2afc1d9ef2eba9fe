#pragma once

#include "grammar/words.hpp"
#include "interpret/control.hpp"

#include <cstdint>

namespace restep::interpret {

inline constexpr std::int64_t longest_number = 1'000'000 * grammar::Decimal::one; ///< millimetres or inches

/// 1 inch = 25.4 mm exactly; a tenth of a picometre is rounded half away from zero.
constexpr Picometres from_inch(std::int64_t scaled) {
  std::int64_t const tenths = scaled * 254;
  return (tenths + (tenths < 0 ? -5 : 5)) / 10;
}

} // namespace restep::interpret
