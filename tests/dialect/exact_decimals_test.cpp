// Reading and writing against exact rational arithmetic (Boost.Multiprecision): a million values.

#include "program.hpp"

#include <boost/multiprecision/cpp_int.hpp>
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <random>
#include <string>

using namespace restep;
using namespace restep::dialect_test;
using boost::multiprecision::cpp_int;

namespace {

cpp_int power_of_ten(int exponent) {
  cpp_int power = 1;
  for (int i = 0; i < exponent; ++i)
    power *= 10;
  return power;
}

/// numerator / denominator with this many decimals, halves away from zero, as a control's word without
/// needless digits.
std::string rounded(cpp_int numerator, cpp_int const& denominator, int decimals) {
  bool const negative = numerator < 0;
  if (negative) numerator = -numerator;
  cpp_int const scaled = (2 * numerator * power_of_ten(decimals) + denominator) / (2 * denominator);
  std::string digits = scaled.str();
  auto const places = static_cast<std::size_t>(decimals);
  if (digits.size() <= places) digits.insert(0, places + 1 - digits.size(), '0');
  digits.insert(digits.size() - places, ".");
  digits.erase(digits.find_last_not_of('0') + 1);
  if (digits.back() == '.') digits.pop_back();
  return negative && digits != "0" ? "-" + digits : digits;
}

struct Number {
  std::int64_t count; ///< in units of the last decimal
  int decimals;
  std::string text() const {
    std::int64_t const unit = static_cast<std::int64_t>(power_of_ten(decimals));
    return fmt::format("{}{}.{:0{}}", count < 0 ? "-" : "", std::abs(count) / unit, std::abs(count) % unit,
                       decimals);
  }
};

/// Programs of a thousand X words each, written in a dialect; calls `check(number, written word)`.
template <typename Check>
void written_words(std::string const& head, dialect::Dialect const& to, int programs, Check&& check) {
  std::mt19937_64 random(1'000'000);
  for (int p = 0; p < programs; ++p) {
    std::string program = head + "G90\nG0 X4000 Y0 Z0\n";
    std::vector<Number> numbers;
    for (int i = 0; i < 1000; ++i) {
      Number number{0, 1 + static_cast<int>(random() % 5)};
      auto const most = static_cast<std::int64_t>(power_of_ten(number.decimals)) * 3000;
      number.count = static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(2 * most)) - most;
      numbers.push_back(number);
      // Y moves in every block, so that each has a block of its own whatever X does.
      program += "G0 X" + number.text() + fmt::format(" Y{}\n", i + 1);
    }
    auto const written = rewrite(program + "M30\n", shipped("rs274ngc"), to);
    REQUIRE(written.errors() == "");
    std::string last;
    std::size_t at = written.text.find('\n', written.text.find('\n') + 1); // behind the modes and the start
    for (Number const& number : numbers) {
      std::size_t const end = written.text.find('\n', at + 1);
      std::string const line = written.text.substr(at + 1, end - at - 1);
      at = end;
      if (auto const x = line.find('X'); x != std::string::npos)
        last = line.substr(x + 1, line.find_first_of(" Y\r", x) - x - 1);
      check(number, last);
    }
  }
}

} // namespace

TEST_CASE("half a million millimetre words are written as exact arithmetic rounds them", "[decimals]") {
  auto to = shipped("rs274ngc");
  to.name = "three digits";
  to.decimals_mm = 3;
  int wrong = 0;
  std::string first;
  written_words("G21\n", to, 500, [&](Number const& number, std::string const& word) {
    std::string const exact = rounded(number.count, power_of_ten(number.decimals), 3);
    if (word == exact) return;
    if (wrong++ == 0) first = number.text() + " became " + word + ", exactly " + exact;
  });
  INFO(first);
  CHECK(wrong == 0);
}

// 1 inch = 25.4 mm exactly (ISO 31-1 and the international yard and pound agreement of 1959; from memory).
TEST_CASE("half a million inch words become millimetres without drift", "[decimals]") {
  auto to = shipped("rs274ngc");
  to.name = "metric";
  to.inch = false;
  int wrong = 0;
  std::string first;
  written_words("G20\n", to, 500, [&](Number const& number, std::string const& word) {
    std::string const exact = rounded(number.count * cpp_int(254), power_of_ten(number.decimals + 1), 4);
    if (word == exact) return;
    if (wrong++ == 0) first = number.text() + " inch became " + word + ", exactly " + exact;
  });
  INFO(first);
  CHECK(wrong == 0);
}
