#include "dialect/number.hpp"

#include <array>
#include <cassert>
#include <cmath>

namespace restep::dialect {
namespace {

constexpr int nano_decimals = 9;
constexpr std::array<std::int64_t, 10> powers_of_ten{
    1, 10, 100, 1'000, 10'000, 100'000, 1'000'000, 10'000'000, 100'000'000, 1'000'000'000};

std::int64_t power_of_ten(int exponent) {
  return powers_of_ten[static_cast<std::size_t>(exponent)];
}

} // namespace

std::int64_t digits_of(double value, int decimals) {
  assert(std::abs(value) <= largest_number && decimals >= 0 && decimals <= nano_decimals);
  auto const nano = static_cast<std::int64_t>(value * 1e9 + (value < 0 ? -0.5 : 0.5));
  std::int64_t const unit = power_of_ten(nano_decimals - decimals);
  std::int64_t const half = unit / 2;
  return (nano < 0 ? nano - half : nano + half) / unit;
}

double value_of(std::int64_t digits, int decimals) {
  return static_cast<double>(digits) / static_cast<double>(power_of_ten(decimals));
}

void append_number(std::string& text, std::int64_t digits, int decimals, NumberStyle style) {
  std::uint64_t magnitude =
      digits < 0 ? std::uint64_t{0} - static_cast<std::uint64_t>(digits) : static_cast<std::uint64_t>(digits);
  std::array<char, 32> buffer; // 20 digits, a point, a sign
  char* const end = buffer.data() + buffer.size();
  char* at = end;
  auto const put_digit = [&] {
    *--at = static_cast<char>('0' + magnitude % 10);
    magnitude /= 10;
  };
  int places = decimals;
  if (!style.trailing_zeros) {
    for (; places > 0 && magnitude % 10 == 0; --places)
      magnitude /= 10;
  }
  for (int i = 0; i < places; ++i)
    put_digit();
  if (places > 0 || style.always_point) *--at = '.';
  do
    put_digit();
  while (magnitude != 0);
  if (digits < 0) {
    *--at = '-';
  } else if (style.plus_sign) {
    *--at = '+';
  }
  text.append(at, end);
}

std::string format_number(double value, int decimals, NumberStyle style) {
  std::string text;
  append_number(text, digits_of(value, decimals), decimals, style);
  return text;
}

} // namespace restep::dialect
