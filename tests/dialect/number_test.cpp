#include "dialect/number.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cmath>
#include <random>
#include <string>

using namespace restep::dialect;

namespace {

/// Rounds a decimal given in 1e-9 by long division on its digits: no binary fraction is involved.
std::string decimal_reference(std::int64_t nano, int decimals) {
  bool const negative = nano < 0;
  std::string digits = fmt::format("{:019}", negative ? -nano : nano);
  std::string kept = digits.substr(0, digits.size() - 9 + static_cast<std::size_t>(decimals));
  if (decimals < 9 && digits[kept.size()] >= '5') {
    std::size_t at = kept.size();
    while (at > 0 && kept[at - 1] == '9')
      kept[--at] = '0';
    if (at > 0) ++kept[at - 1];
  }
  std::string whole = kept.substr(0, kept.size() - static_cast<std::size_t>(decimals));
  std::string fraction = kept.substr(whole.size());
  whole.erase(0, std::min(whole.find_first_not_of('0'), whole.size() - 1));
  while (!fraction.empty() && fraction.back() == '0')
    fraction.pop_back();
  std::string text = fraction.empty() ? whole : whole + "." + fraction;
  return negative && text != "0" ? "-" + text : text;
}

} // namespace

TEST_CASE("a decimal is rounded as a decimal, halves away from zero", "[number]") {
  std::mt19937_64 random(20240611);
  std::uniform_int_distribution<std::int64_t> any(-5'000'000'000'000, 5'000'000'000'000);
  std::uniform_int_distribution<int> places(0, 7);
  for (int i = 0; i < 100'000; ++i) {
    int const decimals = places(random);
    std::int64_t nano = any(random);
    if (i % 3 == 0) { // a half of the last digit
      auto const unit = static_cast<std::int64_t>(std::llround(std::pow(10, 9 - decimals)));
      nano = nano / unit * unit + unit / 2;
    }
    double const value = static_cast<double>(nano) / 1e9;
    REQUIRE(format_number(value, decimals, {}) == decimal_reference(nano, decimals));
  }
}

TEST_CASE("a number is rounded to its mirror when its sign is changed", "[number]") {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> any(-1000, 1000);
  for (int i = 0; i < 10'000; ++i) {
    double const value = any(random);
    REQUIRE(digits_of(value, 3) == -digits_of(-value, 3));
  }
}

TEST_CASE("what is written is within half a digit of what was meant and reads as itself", "[number]") {
  std::mt19937_64 random(8);
  std::uniform_real_distribution<double> any(-1000, 1000);
  for (int i = 0; i < 10'000; ++i) {
    double const value = any(random);
    auto const digits = digits_of(value, 4);
    REQUIRE(std::abs(value_of(digits, 4) - value) <= 0.00005 + 1e-9);
    REQUIRE(value_of(digits, 4) == std::stod(format_number(value, 4, {})));
    REQUIRE(digits_of(value_of(digits, 4), 4) == digits);
  }
}

TEST_CASE("a number is spelled as the dialect spells it", "[number]") {
  CHECK(format_number(10, 3, {}) == "10");
  CHECK(format_number(10, 3, {.always_point = true}) == "10.");
  CHECK(format_number(10, 3, {.trailing_zeros = true}) == "10.000");
  CHECK(format_number(10, 0, {.always_point = true, .trailing_zeros = true}) == "10.");
  CHECK(format_number(-0.5, 3, {}) == "-0.5");
  CHECK(format_number(0.0625, 4, {}) == "0.0625");
}

TEST_CASE("zero has no sign, whatever was rounded to it", "[number]") {
  CHECK(format_number(-0.0, 3, {}) == "0");
  CHECK(format_number(-0.0004, 3, {}) == "0");
  CHECK(format_number(-0.0004, 3, {.always_point = true}) == "0.");
  CHECK(format_number(-0.0004, 3, {.trailing_zeros = true}) == "0.000");
}
