#pragma once

#include <cstdint>
#include <string>

namespace restep::dialect {

/// How a number is spelled.
struct NumberStyle {
  bool always_point = false;   ///< "10." instead of "10"
  bool trailing_zeros = false; ///< all decimals
  bool plus_sign = false;      ///< "+10" instead of "10"
};

/// Numbers beyond this are not written (a length of a thousand kilometres is a fault elsewhere).
inline constexpr double largest_number = 1e9;

/// The value in units of the last of `decimals` digits, halves away from zero. Values that are decimals of at
/// most nine digits, as a program's numbers are, are rounded as decimals: 1.0005 to three digits is 1.001
/// though the nearest binary fraction lies below it. |value| <= largest_number, 0 <= decimals <= 9.
std::int64_t digits_of(double value, int decimals);

/// The value that the written digits mean, the nearest double to it.
double value_of(std::int64_t digits, int decimals);

/// Appends digits as a decimal number: no exponent, no "-0", no locale.
void append_number(std::string& text, std::int64_t digits, int decimals, NumberStyle style);

/// digits_of and append_number in one.
std::string format_number(double value, int decimals, NumberStyle style);

} // namespace restep::dialect
