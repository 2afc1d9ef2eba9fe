#pragma once

#include "grammar/decimal.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <string_view>

namespace restep::grammar {

/// What a line of axis words looks like: which characters stand where, and where digits stand whatever they
/// are. Most lines of a program look like the one before. That is told from all characters at once, and where
/// each number stands is then known without having read the one before it.
///
/// A shape is made of a line that was read word by word, once a second one in a row has turned out to be
/// alike.
class LineShape {
public:
  static constexpr std::size_t longest = 64; ///< characters, line end included

  /// A line is about to be read word by word.
  void begin() {
    before_ = read_;
    read_ = {};
    has_shape_ = false;
  }
  /// Digits that may be others in the next line, whatever they mean; places count from the start of the line.
  void any_digits(std::size_t from, std::size_t to) { read_.free = {narrow(from), narrow(to)}; }
  /// The number of an axis that stands at [from, to), its sign included.
  void number(unsigned axis, std::size_t from, std::size_t to, Decimal const& number) {
    read_.numbers[read_.size++] = {narrow(from), narrow(to), static_cast<std::uint8_t>(axis), number.decimals,
                                   number.point};
  }
  /// The line has been read to its end; `line_end` are the characters of that.
  void end(std::string_view line, std::size_t line_end) {
    read_.length = narrow(line.size());
    if (read_ == before_ && line.size() <= longest && std::endian::native == std::endian::little)
      has_shape_ = make(line, line_end);
  }

  /// The line at `at` looks like this one.
  bool fits(char const* at, char const* end) const {
    if (!has_shape_ || static_cast<std::size_t>(end - at) < longest + 8) return false;
    std::uint64_t other = 0;
    for (std::size_t i = 0; i < words_; ++i) {
      std::uint64_t const characters = load(at + 8 * i);
      other |= ((characters ^ text_[i]) & fixed_[i]) | (no_digits(characters ^ zeros) & digit_[i]);
    }
    return other == 0;
  }
  /// Tells `take` the axes' numbers of such a line, as Decimal::scaled.
  template <class Take>
  void read(char const* at, Take const& take) const {
    for (std::size_t i = 0; i < read_.size; ++i) {
      Number const& number = numbers_[i];
      std::uint64_t const x = load(at + number.at) ^ zeros;
      std::uint64_t const digits = (x & number.in_front) | (x >> number.behind & ~number.in_front);
      auto const scaled = static_cast<std::int64_t>(join_digits(digits << number.shift) * number.unit);
      take(read_.numbers[i].axis, number.negative ? -scaled : scaled);
    }
  }
  std::size_t length() const { return read_.length; } ///< line end included
  std::size_t line_end() const { return line_end_; }

private:
  static constexpr std::size_t most_digits = 7; ///< with a point among them they are eight characters
  static constexpr std::uint64_t zeros = 0x3030303030303030u;

  /// What was met in a line, place by place.
  struct Read {
    struct Number {
      std::uint8_t from = 0, to = 0, axis = 0, decimals = 0;
      bool point = false;
      friend bool operator==(Number const&, Number const&) = default;
    };
    std::array<Number, 3> numbers{};
    std::array<std::uint8_t, 2> free{};
    std::uint8_t size = 0;
    std::uint8_t length = 0;
    friend bool operator==(Read const&, Read const&) = default;
  };
  /// How a number is made of eight characters.
  struct Number {
    std::size_t at = 0;         ///< of its first digit or point
    std::uint64_t in_front = 0; ///< the characters before the point
    unsigned behind = 0;        ///< bits by which those behind it are to be moved
    std::size_t shift = 0;      ///< bits that put the last digit at the high end
    std::uint64_t unit = 0;     ///< of the last digit
    bool negative = false;
  };

  bool has_shape_ = false;
  Read read_, before_;
  std::size_t line_end_ = 0;
  std::size_t words_ = 0; ///< of eight characters
  std::array<Number, 3> numbers_{};
  std::array<std::uint64_t, longest / 8> text_{}, fixed_{}, digit_{};

  /// Places behind `longest` are all one: no shape is made of such a line.
  static std::uint8_t narrow(std::size_t place) {
    return static_cast<std::uint8_t>(std::min(place, longest + 1));
  }
  static std::uint64_t load(char const* at) {
    std::uint64_t characters = 0;
    std::memcpy(&characters, at, 8);
    return characters;
  }

  bool make(std::string_view line, std::size_t line_end) {
    std::array<char, longest> text{}, fixed{}, digit{};
    std::copy(line.begin(), line.end(), text.begin());
    std::fill_n(fixed.begin(), line.size(), '\xFF');
    auto const free = [&](std::size_t from, std::size_t to) {
      for (std::size_t i = from; i < to; ++i) {
        fixed[i] = '\0';
        digit[i] = '\x80';
      }
    };
    free(read_.free[0], read_.free[1]);
    for (std::size_t i = 0; i < read_.size; ++i) {
      Read::Number const& met = read_.numbers[i];
      Number& number = numbers_[i];
      number.negative = line[met.from] == '-';
      number.at = met.from + (number.negative || line[met.from] == '+' ? 1UL : 0UL);
      std::size_t const whole = met.to - number.at - met.decimals - (met.point ? 1 : 0);
      std::size_t const count = whole + met.decimals;
      if (count > most_digits) return false;
      number.in_front = (std::uint64_t{1} << (8 * whole)) - 1;
      number.behind = met.point ? 8 : 0;
      number.shift = 8 * (8 - count);
      number.unit = powers_of_ten[9UL - met.decimals];
      free(number.at, number.at + whole);
      free(met.to - std::size_t{met.decimals}, met.to);
    }
    line_end_ = line_end;
    words_ = (line.size() + 7) / 8;
    std::memcpy(text_.data(), text.data(), longest);
    std::memcpy(fixed_.data(), fixed.data(), longest);
    std::memcpy(digit_.data(), digit.data(), longest);
    return true;
  }
};

} // namespace restep::grammar
