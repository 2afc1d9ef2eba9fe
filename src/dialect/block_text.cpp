#include "dialect/block_text.hpp"

#include <algorithm>

namespace restep::dialect {

void BlockText::begin_word(char letter) {
  if (dialect_->spaces && !text_.empty()) text_ += ' ';
  text_ += letter;
}

void BlockText::code(char letter, int tenths) {
  begin_word(letter);
  if (dialect_->leading_zero_codes && tenths < 100) text_ += '0';
  append_number(text_, tenths, 1, {});
}

void BlockText::length(char letter, std::int64_t digits, motion::Units units) {
  begin_word(letter);
  append_number(text_, digits, units == motion::Units::mm ? dialect_->decimals_mm : dialect_->decimals_inch,
                {dialect_->always_point, dialect_->trailing_zeros});
}

void BlockText::number(char letter, std::int64_t digits, int decimals) {
  begin_word(letter);
  append_number(text_, digits, decimals, {});
}

void BlockText::whole(char letter, std::int64_t value) {
  begin_word(letter);
  append_number(text_, value, 0, {});
}

void BlockText::words(std::string_view text) {
  if (dialect_->spaces && !text_.empty()) text_ += ' ';
  text_ += text;
}

void BlockText::drop_blanks() {
  std::erase(text_, ' ');
}

std::string clean_comment(std::string_view text, Dialect const& dialect) {
  std::string clean;
  clean.reserve(text.size());
  for (char const c : text) {
    auto const byte = static_cast<unsigned char>(c);
    bool const continues = (byte & 0xC0U) == 0x80U;
    if (byte < 0x20 || byte == 0x7F) {
      clean += ' ';
    } else if (byte >= 0x80 && dialect.ascii_comments) {
      if (!continues) clean += '?';
    } else if (dialect.comment_style == '(' && (c == '(' || c == ')')) {
      clean += c == '(' ? '[' : ']';
    } else {
      clean += c;
    }
  }
  auto const first = clean.find_first_not_of(' ');
  if (first == std::string::npos) return {};
  auto const last = clean.find_last_not_of(' ');
  return clean.substr(first, last - first + 1);
}

} // namespace restep::dialect
