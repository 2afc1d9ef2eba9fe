#include "grammar/diagnose.hpp"

#include "grammar/decimal.hpp"
#include "grammar/keyword.hpp"
#include "text/finding.hpp"
#include "text/utf8.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

namespace restep::grammar {

namespace {

constexpr std::array<std::string_view, 13> functions{"ABS", "ACOS", "ASIN",  "ATAN", "COS",  "EXP", "FIX",
                                                     "FUP", "LN",   "ROUND", "SIN",  "SQRT", "TAN"};
constexpr std::array<std::string_view, 12> o_word_keywords{"SUB",      "ENDSUB",    "CALL",  "RETURN",
                                                           "ENDWHILE", "ELSEIF",    "ELSE",  "ENDIF",
                                                           "REPEAT",   "ENDREPEAT", "BREAK", "CONTINUE"};

std::string upper_case(std::string_view text) {
  std::string out;
  for (char const c : text)
    out += upper(c);
  return out;
}

/// Position of the last character before `at` that is no blank, or npos.
std::size_t before(std::string_view line, std::size_t at) {
  while (at > 0)
    if (!is_blank(line[--at])) return at;
  return std::string_view::npos;
}

/// How many letters must change, come or go to make one word of the other.
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j)
    row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      std::size_t const changed = diagonal + (a[i - 1] != b[j - 1]);
      diagonal = row[j];
      row[j] = std::min({changed, row[j] + 1, row[j - 1] + 1});
    }
  }
  return row[b.size()];
}

/// The comment before `at` that holds a "(" of its own, if one does.
bool follows_nested_comment(std::string_view line, std::size_t at) {
  for (std::size_t open = line.find('('); open < at; open = line.find('(', open)) {
    std::size_t const close = line.find(')', open);
    if (close >= at) return false;
    if (line.substr(open + 1, close - open - 1).find('(') != std::string_view::npos) return true;
    open = close;
  }
  return false;
}

bool in_brackets(std::string_view line, std::size_t at) {
  int depth = 0;
  bool comment = false;
  for (char const c : line.substr(0, at)) {
    if (comment) {
      comment = c != ')';
    } else if (c == '(') {
      comment = true;
    } else if (c == '[') {
      ++depth;
    } else if (c == ']') {
      --depth;
    }
  }
  return depth > 0;
}

/// The parameter, bracket or function at `at`, as it is written, to be quoted in a hint.
std::string_view operand_at(std::string_view line, std::size_t at) {
  int depth = 0;
  std::size_t end = at;
  for (; end < line.size(); ++end) {
    depth += line[end] == '[';
    depth -= line[end] == ']';
    if (depth < 0 || (depth == 0 && (is_blank(line[end]) ||
                                     std::string_view("*/+-").find(line[end]) != std::string_view::npos)))
      break;
    if (depth == 0 && line[end] == ']') return line.substr(at, end + 1 - at);
  }
  return line.substr(at, end - at);
}

/// The letter run is no word and no keyword: text, a misspelt function, a keyword in the wrong place.
std::optional<ParseError> stray_name(Stop const& stop, std::size_t begin) {
  std::string_view line = stop.line;
  std::size_t end = begin;
  while (end < line.size() && is_letter(line[end]))
    ++end;
  std::string const name = upper_case(line.substr(begin, end - begin));
  if (name.size() < 2) return std::nullopt;
  std::size_t bracket = end;
  while (bracket < line.size() && is_blank(line[bracket]))
    ++bracket;
  bool const called = bracket < line.size() && line[bracket] == '[';

  if (std::find(o_word_keywords.begin(), o_word_keywords.end(), name) != o_word_keywords.end())
    return error_at(begin, name.size(), "keyword-without-label", fmt::format("'{}' needs its O word", name),
                    fmt::format("write the label in front: O<name> {0} or O100 {0}", name));
  if (called) {
    auto const nearest = std::min_element(functions.begin(), functions.end(), [&](auto a, auto b) {
      return distance(name, a) < distance(name, b);
    });
    return error_at(begin, name.size(), "unknown-function", fmt::format("there is no function '{}'", name),
                    2 * distance(name, *nearest) <= name.size()
                        ? fmt::format("did you mean {}?", *nearest)
                        : "the functions are ABS ACOS ASIN ATAN COS EXP FIX FUP LN ROUND SIN "
                          "SQRT TAN");
  }
  if (name.size() < 3) return std::nullopt;
  return error_at(begin, name.size(), "text-outside-comment",
                  fmt::format("'{}' is text, not a word of the language", name),
                  "text stands in a comment: (...)");
}

/// "MO6", "GO X0.", "TO303": the zero is a letter.
std::optional<ParseError> letter_o_for_zero(Stop const& stop, std::size_t letter) {
  std::string_view const line = stop.line;
  if (upper(stop.found()) != 'O') return std::nullopt;
  std::size_t end = stop.at;
  std::string digits;
  while (end < line.size() && (is_digit(line[end]) || upper(line[end]) == 'O' || line[end] == '.')) {
    digits += upper(line[end]) == 'O' ? '0' : line[end];
    ++end;
  }
  if (end < line.size() && is_letter(line[end]) && end == stop.at + 1) return std::nullopt;
  return error_at(stop.at, 1, "letter-o-for-zero",
                  fmt::format("expected a number after '{}', found the letter O", upper(line[letter])),
                  fmt::format("write the digit 0: {}{}", upper(line[letter]), digits));
}

// Where a place to be filled in ends that begins at `at`: "__", "??", "**", or a name in "{width}",
// "{{width}}",
// "<width>", "$width"; npos where none does.
std::size_t end_of_place(std::string_view line, std::size_t at) {
  constexpr std::string_view blank_marks = "_?*", name_marks = "{<$";
  if (at >= line.size()) return std::string_view::npos;
  char const open = line[at];
  std::size_t end = std::min(line.find_first_not_of(open, at), line.size());
  if (blank_marks.find(open) != std::string_view::npos)
    return end < line.size() && is_digit(line[end]) ? std::string_view::npos : end;
  if (name_marks.find(open) == std::string_view::npos) return std::string_view::npos;
  std::size_t const marks = end - at;
  while (end < line.size() && (is_letter(line[end]) || is_digit(line[end]) || line[end] == '_'))
    ++end;
  if (end == at + marks) return std::string_view::npos;
  if (open == '$') return end;
  std::string_view const closing = line.substr(end, marks);
  bool const closed =
      closing.size() == marks && closing.find_first_not_of(open == '{' ? '}' : '>') == std::string_view::npos;
  return closed ? end + marks : std::string_view::npos;
}

ParseError number_after_letter(Stop const& stop, std::size_t letter) {
  std::string_view const line = stop.line;
  char const name = upper(line[letter]);
  if (auto error = letter_o_for_zero(stop, letter)) return *error;
  char const c = stop.found();
  if (std::size_t const filled = end_of_place(line, stop.at); filled != std::string_view::npos)
    return error_at(
        letter, filled - letter, "placeholder",
        fmt::format("'{}' is a place to fill in, not a word", line.substr(letter, filled - letter)),
        fmt::format("write the number that {} has on this machine", name));
  if (c == '-' || c == '+') {
    std::size_t next = stop.at + 1;
    while (next < line.size() && is_blank(line[next]))
      ++next;
    char const behind = next < line.size() ? line[next] : '\0';
    if (behind == '#' || behind == '[' ||
        (is_letter(behind) && next + 1 < line.size() && is_letter(line[next + 1])))
      return error_at(stop.at, 1, "sign-before-value", "a sign belongs only to a number written out",
                      fmt::format("write {}[0{}{}]", name, c, operand_at(line, next)));
    return error_at(stop.at, 1, "number-expected",
                    fmt::format("expected a number after '{}', found a sign alone", name),
                    "write the digits behind the sign");
  }
  if (c == '(') {
    std::size_t const close = std::min(line.find(')', stop.at), line.size());
    std::string_view const inside = line.substr(stop.at + 1, close - stop.at - 1);
    if (inside.find_first_not_of("0123456789.+-*/# \t") == std::string_view::npos && !inside.empty())
      return error_at(stop.at, close + 1 - stop.at, "round-brackets",
                      fmt::format("expected a number after '{}', found a comment", name),
                      "expressions stand in square brackets: [...]");
    return error_at(stop.at, close + 1 - stop.at, "number-expected",
                    fmt::format("expected a number after '{}', found a comment", name),
                    fmt::format("write the value of {0}, or leave the {0} out", name));
  }
  // Letters that stand together and are no words: text or a function misspelt.
  std::size_t begin = letter;
  while (begin > 0 && is_letter(line[begin - 1]))
    --begin;
  std::string const run = upper_case(line.substr(begin, letter + 1 - begin));
  if (run == "GOTO" || run == "DO" || run == "END") {
    if (auto error = stray_name(stop, begin); error && error->code == "keyword-without-label") return *error;
    return error_at(stop.at, 1, "number-expected",
                    fmt::format("expected a number after {}, found {}", run, describe(line, stop.at)), "");
  }
  if (is_letter(c)) {
    if (auto error = stray_name(stop, stop.at)) {
      if (error->code == "unknown-function") return *error;
    }
    if (letter + 1 == stop.at)
      if (auto error = stray_name(stop, begin)) return *error;
  }
  return error_at(stop.at, 1, "number-expected",
                  fmt::format("expected a number after '{}', found {}", name, describe(line, stop.at)),
                  fmt::format("write the value of {0}, or leave the {0} out", name));
}

ParseError number_after_sign(Stop const& stop) {
  if (is_letter(stop.found()))
    if (auto error = stray_name(stop, stop.at)) return *error;
  if (stop.found() == '(')
    return error_at(stop.at, 1, "round-brackets", "expected a number, found a comment",
                    "inside an expression too, brackets are square: [...]");
  if ((stop.found() == '-' || stop.found() == '+') && in_brackets(stop.line, stop.at))
    return error_at(stop.at, 1, "sign-before-value", "a sign belongs only to a number written out",
                    fmt::format("write [0{}{}]", stop.found(), operand_at(stop.line, stop.at + 1)));
  std::size_t const previous = before(stop.line, stop.at);
  bool const parameter = previous != std::string_view::npos && stop.line[previous] == '#';
  return error_at(
      stop.at, 1, "number-expected",
      fmt::format("expected a number, a parameter or '[', found {}", describe(stop.line, stop.at)),
      parameter ? "'#' begins a parameter, as in #1; comments stand in parentheses" : "");
}

/// Digits where a letter should stand: a second point, a lost letter, a label of another language.
ParseError number_without_letter(Stop const& stop) {
  std::string_view const line = stop.line;
  auto const is_part = [](char c) { return is_digit(c) || c == '.' || c == '-' || c == '+'; };
  std::size_t begin = stop.at;
  while (begin > 0 && is_part(line[begin - 1]))
    --begin;
  std::size_t end = stop.at;
  while (end < line.size() && is_part(line[end]))
    ++end;
  std::string_view const number = line.substr(begin, end - begin);
  if (begin > 0 && is_letter(line[begin - 1])) {
    if (std::count(number.begin(), number.end(), '.') > 1)
      return error_at(begin, number.size(), "two-points",
                      fmt::format("the number '{}' has more than one point", number),
                      "two numbers may have run together");
    return error_at(begin, number.size(), "broken-number", fmt::format("'{}' is no number", number),
                    "a sign stands only in front; a letter may be missing");
  }
  return error_at(begin, number.size(), "number-without-letter",
                  fmt::format("the number '{}' has no letter in front of it", number),
                  before(line, begin) == std::string_view::npos ? "a line number is written N100"
                                                                : "write which word it is, as in X10");
}

ParseError end_expected(Stop const& stop) {
  std::string_view const line = stop.line;
  char const c = stop.found();
  std::size_t const previous = before(line, stop.at);
  if (is_digit(c) || c == '.' || c == '-' || c == '+') return number_without_letter(stop);
  if (upper(c) == 'N')
    return error_at(stop.at, name_at(line, stop.at).size(), "misplaced-line-number",
                    "a line number stands only at the start of a block", "two lines may have run together");
  if (upper(c) == 'O' || c == ':') {
    if (c != ':' && stop.at > 0 && (is_digit(line[stop.at - 1]) || line[stop.at - 1] == '.'))
      return error_at(stop.at, 1, "letter-o-for-zero", "found the letter O inside a number",
                      "write the digit 0");
    return error_at(stop.at, std::max<std::size_t>(1, name_at(line, stop.at).size()), "misplaced-o-word",
                    "a program number or O word stands only at the start of a block",
                    "write it on a line of its own");
  }
  std::size_t const slash = stop.at > 0 && line[stop.at - 1] == '/' ? stop.at - 1 : stop.at;
  if (line.substr(slash, 2) == "//")
    return error_at(slash, line.size() - slash, "slash-comment", "'//' begins no comment in this language",
                    "write the comment in parentheses, or behind a semicolon");
  if (c == '/')
    return error_at(stop.at, 1, "misplaced-block-delete", "'/' skips a block only as its first character",
                    "put it at the start of the line, in front of the line number");
  if (c == '%') return error_at(stop.at, 1, "misplaced-percent", "'%' stands only on a line of its own", "");
  if (c == '*')
    return error_at(stop.at, line.size() - stop.at, "checksum", "found '*' outside an expression",
                    "a checksum that a sender adds to each line is no part of the program: take it off");
  if (c == '[')
    return error_at(stop.at, 1, "number-without-letter", "this value has no letter in front of it",
                    "write which word it is, as in X[1+2]");
  if (c == ']')
    return error_at(stop.at, 1, "bracket-without-start", "']' closes a bracket that was never opened", "");
  if (c == ')')
    return error_at(stop.at, 1, "stray-parenthesis", "')' closes a comment that was never opened", "");
  if (c == ',') return error_at(stop.at, 1, "stray-comma", "found a comma between words", "take it out");
  if (c == '=' && previous != std::string_view::npos)
    return error_at(stop.at, 1, "equals-sign", "'=' sets only parameters, as in #1=5", "");
  return error_at(stop.at, 1, "unknown-character",
                  fmt::format("found {}, which starts no word", describe(line, stop.at)),
                  "text stands in a comment: (...)");
}

struct Expected {
  std::string_view wanted;
  std::string_view code;
  std::string_view hint;
};

// What the rules want by name, where the name says it all.
constexpr std::array expectations{
    Expected{"sub, call, while, if or the like", "keyword-expected",
             "the O word only names: write what happens there, as in O<name> call"},
    Expected{"GOTO or THEN", "consequence-expected",
             "a condition alone does nothing: IF [..] GOTO 10, IF [..] THEN #1=2"},
    Expected{"DO", "do-expected", "write WHILE [..] DO 1"},
    Expected{"'='", "equals-expected", "a parameter at the start of a word is set: #1=5"},
    Expected{"'/'", "second-argument-expected", "ATAN takes two values: ATAN[y]/[x]"},
    Expected{"an expression in square brackets", "bracket-expected",
             "what it works on stands in square brackets: [...]"},
};

ParseError expected(Stop const& stop) {
  if (stop.wanted == "a name and '>'")
    return error_at(stop.at, 1, "name-expected",
                    stop.line.find('>', stop.at) == std::string_view::npos ? "the name is not closed"
                    : stop.found() == '>'                                  ? "the name is empty"
                                          : "the name holds what no name may hold",
                    "a name stands between '<' and '>'");
  auto const known = std::find_if(expectations.begin(), expectations.end(),
                                  [&](Expected const& entry) { return entry.wanted == stop.wanted; });
  bool const is_known = known != expectations.end();
  return error_at(stop.at, 1, std::string(is_known ? known->code : "unexpected"),
                  fmt::format("expected {}, found {}", stop.wanted, describe(stop.line, stop.at)),
                  std::string(is_known ? known->hint : ""));
}

ParseError line_number_expected(Stop const& stop) {
  std::size_t end = stop.at;
  while (end < stop.line.size() && (is_digit(stop.line[end]) || stop.line[end] == '.'))
    ++end;
  if (end > stop.at && stop.line.substr(stop.at, end - stop.at).find('.') != std::string_view::npos)
    return error_at(stop.at, end - stop.at, "line-number-with-point", "a line number has no decimals",
                    "write whole numbers behind N");
  if (end > stop.at)
    return error_at(stop.at, end - stop.at, "line-number-too-long", "a line number this long is none", "");
  if (auto error = letter_o_for_zero(stop, stop.at - 1)) return *error;
  return error_at(stop.at, 1, "line-number-expected",
                  fmt::format("expected digits after 'N', found {}", describe(stop.line, stop.at)),
                  "a line number is N and digits, without a sign");
}

} // namespace

ParseError error_at(std::size_t at, std::size_t length, std::string code, std::string message,
                    std::string hint) {
  return {{static_cast<std::uint32_t>(at), static_cast<std::uint32_t>(at + length)},
          std::move(code),
          std::move(message),
          std::move(hint)};
}

std::string describe(std::string_view line, std::size_t at) {
  if (at >= line.size()) return "the end of the line";
  auto const byte = static_cast<unsigned char>(line[at]);
  char32_t code_point = 0;
  std::size_t const length = text::utf8_character(line.substr(at), code_point);
  if (byte < 0x20 || byte == 0x7F || length == 0) return fmt::format("the byte 0x{:02X}", byte);
  return fmt::format("'{}'", text::printable(line.substr(at, length)));
}

ParseError diagnose(std::string_view line, std::size_t at, std::string_view wanted) {
  while (at < line.size() && is_blank(line[at]))
    ++at;
  Stop const stop{line, at, wanted};
  if (wanted == "')'")
    return error_at(at, line.size() - at, "unclosed-comment", "the comment is not closed",
                    "write ')' at its end");
  if (auto error = foreign_line(stop)) return *error;
  if (follows_nested_comment(line, at))
    return error_at(
        at, 1, "nested-comment",
        fmt::format("the comment ended at its first ')', and {} behind it is no word", describe(line, at)),
        "comments do not nest: take the inner parentheses out");
  if (auto error = foreign_character(stop)) return *error;

  if (wanted == "a number") {
    std::size_t const previous = before(line, at);
    if (previous != std::string_view::npos && is_letter(line[previous]) && !in_brackets(line, at))
      return number_after_letter(stop, previous);
    return number_after_sign(stop);
  }
  if (wanted == "an operand" || wanted == "a parameter number") return number_after_sign(stop);
  if (wanted == "a line number") return line_number_expected(stop);
  if (wanted == "the end of the '%' line")
    return error_at(at, line.size() - at, "text-after-percent", "only a comment may follow '%' on its line",
                    is_digit(stop.found()) ? "a program number is written O1000"
                                           : "put the block on a line of its own");
  if (wanted == "']'") {
    if (is_letter(stop.found()))
      if (auto error = stray_name(stop, at)) return *error;
    return error_at(at, 1, "bracket-expected",
                    fmt::format("expected an operator or ']', found {}", describe(line, at)),
                    stop.at_end() ? "a square bracket is not closed" : "");
  }
  if (wanted == "eoi") return end_expected(stop);
  return expected(stop);
}

} // namespace restep::grammar
