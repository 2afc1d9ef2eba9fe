#pragma once

#include "grammar/words.hpp"

#include <boost/spirit/home/x3.hpp>

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>

namespace restep::grammar {

inline constexpr std::array<std::uint64_t, 10> powers_of_ten{
    1, 10, 100, 1'000, 10'000, 100'000, 1'000'000, 10'000'000, 100'000'000, 1'000'000'000};

constexpr bool is_digit(char c) {
  return static_cast<unsigned char>(c - '0') < 10;
}

/// number = ["+" | "-"] ( digits ["." [digits]] | "." digits ), NISTIR 6556, appendix E.2, without blanks:
/// any number of digits. The end of the number, or nullptr when there is none or it is beyond the range of a
/// Decimal.
char const* scan_long_decimal(char const* at, char const* end, Decimal& out);

/// Up to eight characters at `at` in one integer, the first in the lowest byte, zero behind `end`. Reads
/// nothing outside [begin, end).
inline std::uint64_t load_characters(char const* begin, char const* at, char const* end) {
  std::uint64_t bytes = 0;
  auto const left = static_cast<std::size_t>(end - at);
  if (left >= 8) {
    std::memcpy(&bytes, at, 8);
  } else if (end - begin >= 8) {
    std::memcpy(&bytes, end - 8, 8);
    bytes = left == 0 ? 0 : bytes >> (8 * (8 - left));
  } else {
    for (std::size_t i = 0; i < left; ++i)
      bytes |= static_cast<std::uint64_t>(static_cast<unsigned char>(at[i])) << (8 * i);
  }
  return bytes;
}

/// The value of up to eight digits, one in each byte (0 to 9), the first in the lowest byte.
inline std::uint64_t join_digits(std::uint64_t digits) {
  digits = (digits * 10 + (digits >> 8)) & 0x00FF00FF00FF00FFu;   // pairs
  digits = (digits * 100 + (digits >> 16)) & 0x0000FFFF0000FFFFu; // fours
  return (digits * 10000 + (digits >> 32)) & 0xFFFFFFFFu;         // eight
}

/// Characters of eight that are no digits: the high bit of each, in the order of `load_characters`.
/// `digits` is the eight with '0' to '9' turned into 0 to 9.
inline std::uint64_t no_digits(std::uint64_t digits) {
  return (((digits & 0x7F7F7F7F7F7F7F7Fu) + 0x7676767676767676u) | digits) & 0x8080808080808080u;
}

/// The end of a number of more than seven characters, with up to seven digits on either side of its point:
/// the two sides one after the other. `whole` is what stands before the point, digits as 0 to 9, `count` of
/// them.
inline char const* scan_two_sides(char const* begin, char const* point, char const* end, std::uint64_t whole,
                                  unsigned count, bool negative, Decimal& out) {
  std::uint64_t const x = load_characters(begin, point + 1, end) ^ 0x3030303030303030u;
  std::uint64_t const others = no_digits(x);
  if (others == 0) return nullptr;
  auto const decimals = static_cast<unsigned>(std::countr_zero(others)) / 8;
  std::uint64_t const front = count == 0 ? 0 : join_digits(whole << (8 * (8 - count)));
  std::uint64_t const back = decimals == 0 ? 0 : join_digits(x << (8 * (8 - decimals)));
  auto const scaled =
      static_cast<std::int64_t>(front * powers_of_ten[9] + back * powers_of_ten[9 - decimals]);
  out.scaled = negative ? -scaled : scaled;
  out.decimals = static_cast<std::uint8_t>(decimals);
  out.point = true;
  return point + 1 + decimals;
}

/// The same as scan_long_decimal, fast for numbers of up to seven characters behind the sign, and not slow
/// for longer ones. All characters are worked on at once: a loop over digits costs a mispredicted branch at
/// the end of nearly every number. `begin` is any place before `at` from which on the text may be read.
[[gnu::always_inline]] inline char const* scan_decimal(char const* begin, char const* at, char const* end,
                                                       Decimal& out) {
  if constexpr (std::endian::native != std::endian::little) return scan_long_decimal(at, end, out);
  if (at == end) return nullptr;
  bool const negative = *at == '-';
  char const* const number = at + (negative || *at == '+');
  std::uint64_t const characters = load_characters(begin, number, end);
  std::uint64_t const x = characters ^ 0x3030303030303030u; // digits become 0 to 9
  std::uint64_t const others = no_digits(x);
  if (others == 0) return scan_long_decimal(at, end, out);

  auto const whole_digits = static_cast<unsigned>(std::countr_zero(others)) / 8;
  bool const has_point = (characters >> (8 * whole_digits) & 0xFFu) == '.';
  std::uint64_t digits = x;
  unsigned length = whole_digits;
  unsigned decimals = 0;
  if (has_point) {
    std::uint64_t const behind = others & (others - 1);
    if (behind == 0) {
      char const* const found =
          scan_two_sides(begin, number + whole_digits, end, x, whole_digits, negative, out);
      return found != nullptr ? found : scan_long_decimal(at, end, out);
    }
    length = static_cast<unsigned>(std::countr_zero(behind)) / 8;
    decimals = length - whole_digits - 1;
    std::uint64_t const in_front = (std::uint64_t{1} << (8 * whole_digits)) - 1;
    digits = (x & in_front) | (x >> 8 & ~in_front); // without the point
  }
  unsigned const count = whole_digits + decimals;
  if (count == 0) return nullptr;
  // The digits go to the high end, zeros in front. At most 9'999'999: cannot be out of range.
  std::uint64_t const mantissa = join_digits(digits << (8 * (8 - count)));
  auto const scaled = static_cast<std::int64_t>(mantissa * powers_of_ten[9 - decimals]);
  out.scaled = negative ? -scaled : scaled;
  out.decimals = static_cast<std::uint8_t>(decimals);
  out.point = has_point;
  return number + length;
}

/// The number as a component of X3: a fixed-point decimal in one 64-bit integer, never a binary fraction.
struct DecimalParser : boost::spirit::x3::parser<DecimalParser> {
  using attribute_type = Decimal;
  static bool const has_attribute = true;

  template <typename Iterator, typename Context, typename RuleContext>
  bool parse(Iterator& first, Iterator const& last, Context const&, RuleContext const&,
             Decimal& decimal) const {
    char const* const end = scan_decimal(first, first, last, decimal);
    if (end == nullptr) return false;
    first = end;
    return true;
  }
};
inline constexpr DecimalParser decimal{};

} // namespace restep::grammar
