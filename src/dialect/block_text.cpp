#include "dialect/block_text.hpp"

#include <algorithm>

namespace restep::dialect {

void BlockText::separate() {
  if (dialect_->spaces && !text_.empty()) text_ += ' ';
  if (!dialect_->word_order.empty()) begins_.push_back(text_.size());
}

void BlockText::begin_word(char letter) {
  separate();
  text_ += letter;
}

void BlockText::code(char letter, int tenths) {
  begin_word(letter);
  if (dialect_->leading_zero_codes && tenths < 100) text_ += '0';
  append_number(text_, tenths, 1, {});
}

void BlockText::length(char letter, std::int64_t digits, motion::Units units) {
  begin_word(letter);
  int const decimals = dialect_->count_increments ? 0 : dialect_->decimals_of(letter, units);
  append_number(text_, digits, decimals,
                {dialect_->always_point, dialect_->trailing_zeros, dialect_->plus_sign});
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
  separate();
  text_ += text;
}

void BlockText::drop_blanks() {
  std::erase(text_, ' ');
  begins_.clear();
}

void BlockText::put_in_order() {
  std::string_view const order = dialect_->word_order;
  if (begins_.size() < 2) return;
  std::vector<std::string> words;
  for (std::size_t i = 0; i < begins_.size(); ++i) {
    std::size_t const end = i + 1 < begins_.size() ? begins_[i + 1] : text_.size();
    std::string word = text_.substr(begins_[i], end - begins_[i]);
    if (word.ends_with(' ')) word.pop_back();
    words.push_back(std::move(word));
  }
  // A letter that is not found has the largest place.
  std::stable_sort(words.begin(), words.end(), [&](std::string const& a, std::string const& b) {
    return order.find(a.front()) < order.find(b.front());
  });
  clear();
  for (std::string const& word : words)
    this->words(word);
}

namespace {

bool is_letter_or_digit(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

/// The dialect's comments can hold this character.
bool taken(char c, Dialect const& dialect) {
  bool const any = dialect.comment_characters.empty();
  return any || c == ' ' || is_letter_or_digit(c) || dialect.comment_characters.find(c) != std::string::npos;
}

char in_capitals(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

} // namespace

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
    } else {
      char const kept = dialect.comment_style != '(' ? c : c == '(' ? '[' : c == ')' ? ']' : c;
      clean += taken(kept, dialect) ? kept : ' ';
    }
  }
  if (dialect.upper_case_comments) std::transform(clean.begin(), clean.end(), clean.begin(), in_capitals);
  auto const first = clean.find_first_not_of(' ');
  if (first == std::string::npos) return {};
  auto const last = clean.find_last_not_of(' ');
  return clean.substr(first, last - first + 1);
}

} // namespace restep::dialect
