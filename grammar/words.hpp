#pragma once

#include "text/place.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

namespace restep::grammar {

/// A number as written, exact: value = scaled * 1e-9. Further decimals are rounded half away from zero.
struct Decimal {
  static constexpr std::int64_t one = 1'000'000'000;
  std::int64_t scaled = 0;
  std::uint8_t decimals = 0; ///< digits written behind the point
  bool point = false;        ///< a decimal point was written

  double value() const { return static_cast<double>(scaled) / static_cast<double>(one); }
  friend bool operator==(Decimal const&, Decimal const&) = default;
};

/// One word with its value; letter in upper case; span within the line.
struct Word {
  char letter = 0;
  Decimal value;
  text::Span span;
};

enum class CommentStyle : std::uint8_t { parentheses, semicolon };
struct CommentText {
  std::string_view text; ///< without the marks
  CommentStyle style = CommentStyle::parentheses;
  text::Span span;
};

enum class LineKind : std::uint8_t { block, blank, percent };

/// One block after reading: every value is a number. This is all that the interpreter's execution sees,
/// whichever tier of the reader made it. Reused from block to block; nothing is allocated on the plain path.
struct WordBlock {
  static constexpr std::size_t capacity = 64;

  LineKind kind = LineKind::blank;
  bool deleted = false;           ///< begins with "/"
  std::uint8_t delete_switch = 0; ///< 1 to 9 for "/1" to "/9", 0 for a bare "/"
  bool has_number = false;        ///< an N word
  std::int64_t number = 0;
  text::Span number_span;
  std::size_t size = 0;
  std::array<Word, capacity> words; ///< all but N; O is a word here
  std::vector<CommentText> comments;

  void clear() {
    kind = LineKind::blank;
    deleted = has_number = false;
    delete_switch = 0;
    size = 0;
    comments.clear();
  }
  Word const* begin() const { return words.data(); }
  Word const* end() const { return words.data() + size; }
};

} // namespace restep::grammar
