#pragma once

#include "dialect/number.hpp"
#include "dialect/profile.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace restep::dialect {

/// The words of one block, spelled as a dialect spells them.
class BlockText {
public:
  explicit BlockText(Dialect const& dialect)
      : dialect_(&dialect) {}

  void clear() { text_.clear(); }
  bool empty() const { return text_.empty(); }

  /// A G or M word; the code in tenths (382 is 38.2).
  void code(char letter, int tenths);
  /// X Y Z I J K R Q: a length in last-digit units of the dialect's decimals for `units`.
  void length(char letter, std::int64_t digits, motion::Units units);
  /// Any other number with decimals.
  void number(char letter, std::int64_t digits, int decimals);
  /// A count: T, H, D, L, O, N.
  void whole(char letter, std::int64_t value);
  /// Words of a program, as they stand.
  void words(std::string_view text);

  std::string const& text() const { return text_; }
  /// Takes the blanks between words out.
  void drop_blanks();

private:
  Dialect const* dialect_;
  std::string text_;

  void begin_word(char letter);
};

/// A comment's text with only what the dialect's comments can hold: no parenthesis inside parentheses, no
/// control characters, other than ASCII only when the dialect takes it.
std::string clean_comment(std::string_view text, Dialect const& dialect);

} // namespace restep::dialect
