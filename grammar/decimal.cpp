#include "grammar/decimal.hpp"

#include <algorithm>
#include <limits>

namespace restep::grammar {

char const* scan_long_decimal(char const* at, char const* end, Decimal& out) {
  constexpr std::uint64_t limit = std::numeric_limits<std::int64_t>::max();
  bool const negative = at != end && *at == '-';
  char const* const digits = at + (at != end && (*at == '-' || *at == '+'));
  char const* const point = std::find_if_not(digits, end, is_digit);
  bool const has_point = point != end && *point == '.';
  char const* const decimals = has_point ? point + 1 : point;
  char const* const behind = has_point ? std::find_if_not(decimals, end, is_digit) : point;
  if (point == digits && behind == decimals) return nullptr;

  std::uint64_t whole = 0;
  for (char const* p = digits; p != point; ++p) {
    whole = whole * 10 + static_cast<std::uint64_t>(*p - '0');
    if (whole > limit / powers_of_ten[9]) return nullptr;
  }
  std::uint64_t part = 0;
  char const* p = decimals;
  for (int i = 0; i < 9; ++i)
    part = part * 10 + (p != behind ? static_cast<std::uint64_t>(*p++ - '0') : 0);
  if (p != behind && *p >= '5') ++part; // half away from zero; the sign follows
  std::uint64_t const scaled = whole * powers_of_ten[9] + part;
  if (scaled > limit) return nullptr;

  out.scaled = negative ? -static_cast<std::int64_t>(scaled) : static_cast<std::int64_t>(scaled);
  out.decimals = static_cast<std::uint8_t>(std::min<std::ptrdiff_t>(behind - decimals, 255));
  out.point = has_point;
  return behind;
}

} // namespace restep::grammar
