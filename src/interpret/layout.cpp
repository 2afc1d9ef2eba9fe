#include "interpret/layout.hpp"

#include <fmt/format.h>

namespace restep::interpret {
namespace {

constexpr std::size_t longest_line = 256; ///< NISTIR 6556, 3.3
constexpr std::uint32_t most_digits = 5;  ///< digits of N; NISTIR 6556, 3.3.1

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blanks = " \t";
  auto const first = text.find_first_not_of(blanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

} // namespace

void ProgramLayout::error(text::Line const& line, text::Span span, std::string code, std::string message,
                          std::string hint) {
  findings_.add(text::Severity::error, std::move(code), std::move(message), std::move(hint), line.place,
                line.text, span);
}

motion::LayoutKind ProgramLayout::kind_after_end(text::Line const& line) {
  auto const text = trimmed(line.text);
  if (text == "%" && !closed_) {
    closed_ = true;
    return motion::LayoutKind::percent;
  }
  if (!text.empty() && text != "%" && !text_after_end_) {
    text_after_end_ = true;
    findings_.add(text::Severity::note, "text-after-end",
                  "text after the end of the program is never executed", "delete it if nothing else needs it",
                  line.place, line.text, {0, static_cast<std::uint32_t>(line.text.size())});
  }
  return motion::LayoutKind::after_end;
}

void ProgramLayout::check_length(text::Line const& line) {
  if (!rules_.strict_layout || line.text.size() <= longest_line) return;
  error(line, {static_cast<std::uint32_t>(longest_line), static_cast<std::uint32_t>(line.text.size())},
        "line-too-long",
        fmt::format("the line has {} characters, RS274/NGC takes {}", line.text.size(), longest_line),
        "break the block in two, or shorten its comment");
}

void ProgramLayout::check_block(text::Line const& line, grammar::WordBlock const& block) {
  block_met_ = block_met_ || block.size != 0;
  if (!rules_.strict_layout) return;
  block_met_ = block_met_ || !block.comments.empty();
  if (block.has_number) {
    std::uint32_t digits = 0;
    for (std::uint32_t at = block.number_span.begin; at < block.number_span.end; ++at)
      digits += line.text[at] >= '0' && line.text[at] <= '9';
    if (digits > most_digits)
      error(line, block.number_span, "line-number-too-long",
            fmt::format("the line number has {} digits, RS274/NGC takes {}", digits, most_digits),
            "number the program again from 1");
  }
  for (auto const& comment : block.comments) {
    if (comment.style == grammar::CommentStyle::parentheses &&
        comment.text.find('(') != std::string_view::npos)
      error(line, comment.span, "nested-comment", "a comment holds a second opening bracket",
            "RS274/NGC has no comments within comments: use other brackets inside");
    if (comment.style == grammar::CommentStyle::semicolon)
      error(line, comment.span, "semicolon-comment", "RS274/NGC has no comments after a semicolon",
            "put the comment in parentheses");
  }
}

void ProgramLayout::meet_percent(text::Line const& line) {
  if (rules_.strict_layout && trimmed(line.text) != "%")
    error(line, {0, static_cast<std::uint32_t>(line.text.size())}, "percent-beside-words",
          "in RS274/NGC nothing stands beside '%' on its line", "put the comment on a line of its own");
  if (!block_met_ && !opened_) {
    opened_ = true;
    opening_ = line.place;
    return;
  }
  if (!opened_ && rules_.strict_layout) {
    auto const at = static_cast<std::uint32_t>(line.text.find('%'));
    error(line, {at, at + 1}, "stray-percent", "a percent line, but the program did not begin with one",
          "begin the program with a percent line, or leave this one out");
  }
  closed_ = true;
}

void ProgramLayout::finish(text::Line const& last) {
  bool const strict = rules_.strict_layout;
  if (strict && opened_ && !closed_) {
    findings_.add(text::Severity::error, "percent-not-closed",
                  "the program begins with a percent line, but no second one follows",
                  "end the program with a percent line", opening_);
    return;
  }
  if (ended_ || (strict && closed_)) return;
  findings_.add(strict ? text::Severity::error : text::Severity::warning, "no-program-end",
                "the program has no end: neither M2 nor M30 was met", "end the program with M30", last.place);
}

} // namespace restep::interpret
