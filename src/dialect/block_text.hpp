#pragma once

#include "dialect/number.hpp"
#include "dialect/profile.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace restep::dialect {

/// The words of one block, spelled as a dialect spells them.
class BlockText {
public:
  explicit BlockText(Dialect const& dialect)
      : dialect_(&dialect) {}

  void clear() {
    text_.clear();
    begins_.clear();
  }
  bool empty() const { return text_.empty(); }

  /// A G or M word; the code in tenths (382 is 38.2).
  void code(char letter, int tenths);
  /// X Y Z I J K R Q P: a length in last-digit units of the dialect's decimals for the letter and `units`.
  void length(char letter, std::int64_t digits, motion::Units units);
  /// Any other number with decimals.
  void number(char letter, std::int64_t digits, int decimals);
  /// A count: T, H, D, L, O, N.
  void whole(char letter, std::int64_t value);
  /// Words of a program, as they stand.
  void words(std::string_view text);

  std::string const& text() const { return text_; }
  /// Takes the blanks between words out. The order of the words is then settled.
  void drop_blanks();
  /// Puts the words into the dialect's order; words whose letter it does not name go behind the others.
  void put_in_order();

private:
  Dialect const* dialect_;
  std::string text_;
  std::vector<std::size_t> begins_; ///< of the words, where the dialect has an order for them

  void separate();
  void begin_word(char letter);
};

/// A comment's text with only what the dialect's comments can hold: no parenthesis inside parentheses, no
/// control characters, and other than letters, digits and blanks only what the dialect takes; in capitals
/// where the dialect wants them.
std::string clean_comment(std::string_view text, Dialect const& dialect);

} // namespace restep::dialect
