#include "dialect/number.hpp"

#include <array>
#include <cassert>
#include <charconv>
#include <cmath>
#include <string_view>

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
  if (digits < 0) {
    text += '-';
  } else if (style.plus_sign) {
    text += '+';
  }
  std::uint64_t const magnitude =
      digits < 0 ? std::uint64_t{0} - static_cast<std::uint64_t>(digits) : static_cast<std::uint64_t>(digits);
  auto const unit = static_cast<std::uint64_t>(power_of_ten(decimals));

  std::array<char, 24> buffer;
  auto const whole = std::to_chars(buffer.data(), buffer.data() + buffer.size(), magnitude / unit);
  text.append(buffer.data(), whole.ptr);

  std::uint64_t fraction = magnitude % unit;
  int places = decimals;
  if (!style.trailing_zeros) {
    while (places > 0 && fraction % 10 == 0) {
      fraction /= 10;
      --places;
    }
  }
  if (places == 0) {
    if (style.always_point) text += '.';
    return;
  }
  text += '.';
  std::size_t const end = text.size() + static_cast<std::size_t>(places);
  text.resize(end, '0');
  for (std::size_t at = end; fraction != 0; fraction /= 10)
    text[--at] = static_cast<char>('0' + fraction % 10);
}

std::string format_number(double value, int decimals, NumberStyle style) {
  std::string text;
  append_number(text, digits_of(value, decimals), decimals, style);
  return text;
}

} // namespace restep::dialect
