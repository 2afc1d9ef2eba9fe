// Lines: words and comments become the lines of the output.

#include "dialect/fresh_blocks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace restep::dialect {

/// The percent line, before whatever comes first.
void FreshBlocks::begin_program() {
  if (begun_) return;
  begun_ = true;
  if (dialect_.percent) put_line("%", false);
}

/// The program's number (0: it has none) before the first block; comments may stand before it.
void FreshBlocks::number_program(std::int64_t number) {
  begin_program();
  if (numbered_) return;
  numbered_ = true;
  std::int64_t const own = number != 0 ? number : dialect_.default_program_number;
  if (dialect_.program_numbers && own != 0) put_line(fmt::format("O{:04}", own), false);
  out_(std::exchange(before_number_, {}));
}

bool FreshBlocks::is_numbered() const {
  if (!dialect_.line_numbers || same_dialect_) return false;
  return dialect_.numbered == NumberedBlocks::all || changes_tool_;
}

/// Puts what stands before the words of a line into `line_`.
void FreshBlocks::begin_line(bool with_number) {
  line_.clear();
  if (optional_) {
    line_ += '/';
    if (delete_switch_ != 0) line_ += delete_switch_;
  }
  if (!with_number || !is_numbered()) return;
  line_ += 'N';
  append_number(line_, line_number_, 0, {});
  if (dialect_.spaces) line_ += ' ';
}

/// The characters that the next line has for its words.
std::size_t FreshBlocks::room() {
  begin_line(true);
  return dialect_.max_line_length - line_.size();
}

void FreshBlocks::put_line(std::string_view text, bool with_number) {
  begin_line(with_number);
  if (with_number && is_numbered()) {
    constexpr std::int64_t numbers = 100'000; // five digits (NISTIR 6556, 3.3.1)
    line_number_ = (line_number_ + dialect_.line_number_step) % numbers;
  }
  line_ += text;
  line_ += line_end_;
  bool const is_comment = text.starts_with('(') || text.starts_with(';');
  if (!numbered_ && is_comment) {
    before_number_ += line_;
  } else {
    out_(line_);
  }
}

void FreshBlocks::end_block() {
  if (block_.empty()) return;
  number_program(0);
  block_.put_in_order();
  std::size_t const room = this->room();
  if (block_.text().size() > room) block_.drop_blanks();
  if (block_.text().size() > room)
    refuse("block-too-long",
           fmt::format("a block of {} characters does not fit the control's {}",
                       line_.size() + block_.text().size(), dialect_.max_line_length),
           "the dialect's max_line_length or its decimals can be changed in its profile");
  if (!pending_comment_.empty()) {
    std::string const comment = std::exchange(pending_comment_, {});
    std::string const beside = marked("", comment);
    if (block_.text().size() + 1 + beside.size() <= room) {
      block_.words(beside);
    } else {
      put_comment_lines("", comment);
    }
  }
  put_line(block_.text(), true);
  block_.clear();
  ++count_.afresh;
}

void FreshBlocks::end_state_block() {
  std::string comment = std::exchange(pending_comment_, {});
  end_block();
  pending_comment_ = std::move(comment);
}

std::string FreshBlocks::marked(std::string_view keyword, std::string_view text) const {
  return dialect_.comment_style == ';' && keyword.empty() ? fmt::format("; {}", text)
                                                          : fmt::format("({}{})", keyword, text);
}

void FreshBlocks::write_comment(std::string_view text, bool message) {
  if (!dialect_.comments) {
    if (message)
      warn_once("no-messages", "the control takes no comments: messages to the operator are left out",
                "read them in the program before it is run");
    return;
  }
  std::string clean = clean_comment(text, dialect_);
  if (message && dialect_.messages) {
    flush();
    begin_program();
    put_comment_lines("MSG,", clean);
    return;
  }
  if (clean.empty()) return;
  if (!pending_comment_.empty()) put_comment_lines("", pending_comment_);
  pending_comment_ = std::move(clean);
}

void FreshBlocks::put_comment_lines(std::string_view keyword, std::string_view text) {
  begin_program();
  std::string_view rest = text;
  do {
    std::size_t const room = this->room() - marked(keyword, "").size();
    std::size_t cut = rest.size();
    if (cut > room) {
      cut = rest.rfind(' ', room);
      if (cut == std::string_view::npos || cut == 0) cut = room;
    }
    put_line(marked(keyword, rest.substr(0, cut)), true);
    rest.remove_prefix(std::min(rest.find_first_not_of(' ', cut), rest.size()));
  } while (!rest.empty());
}

} // namespace restep::dialect
