// What gets into programs from elsewhere: web pages, merges, other languages, other keyboards.
#include "grammar/decimal.hpp"
#include "grammar/diagnose.hpp"
#include "grammar/keyword.hpp"
#include "text/utf8.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>

namespace restep::grammar {

namespace {

struct LookAlike {
  char32_t code_point;
  std::string_view like;
  std::string_view what;
};

// Characters that word processors, web pages and other keyboards put in the place of plain ones.
constexpr std::array look_alikes{
    LookAlike{0x2212, "-", "a mathematical minus"},
    LookAlike{0x2010, "-", "a typographic hyphen"},
    LookAlike{0x2011, "-", "a typographic hyphen"},
    LookAlike{0x2013, "-", "a dash"},
    LookAlike{0x2014, "-", "a dash"},
    LookAlike{0x00A0, " ", "a no-break space"},
    LookAlike{0x2009, " ", "a thin space"},
    LookAlike{0x202F, " ", "a no-break space"},
    LookAlike{0x3000, " ", "a wide space"},
    LookAlike{0x201C, "\"", "a typographic quotation mark"},
    LookAlike{0x201D, "\"", "a typographic quotation mark"},
    LookAlike{0x0410, "A", "a Cyrillic letter"},
    LookAlike{0x0412, "B", "a Cyrillic letter"},
    LookAlike{0x0421, "C", "a Cyrillic letter"},
    LookAlike{0x041A, "K", "a Cyrillic letter"},
    LookAlike{0x041C, "M", "a Cyrillic letter"},
    LookAlike{0x041E, "O", "a Cyrillic letter"},
    LookAlike{0x0422, "T", "a Cyrillic letter"},
    LookAlike{0x0425, "X", "a Cyrillic letter"},
    LookAlike{0x0423, "Y", "a Cyrillic letter"},
    LookAlike{0x03A7, "X", "a Greek letter"},
    LookAlike{0x03A5, "Y", "a Greek letter"},
    LookAlike{0x0396, "Z", "a Greek letter"},
    LookAlike{0x0397, "H", "a Greek letter"},
};

std::size_t skip_blanks(std::string_view line, std::size_t at) {
  while (at < line.size() && is_blank(line[at]))
    ++at;
  return at;
}

std::string lower(std::string_view text) {
  std::string out;
  for (char const c : text)
    out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

std::optional<ParseError> wrong_file(Stop const& stop) {
  std::string_view const line = stop.line;
  for (std::string_view const marker : {"<<<<<<<", "=======", ">>>>>>>", "|||||||"})
    if (line.starts_with(marker))
      return error_at(
          0, marker.size(), "merge-conflict-marker", "found the mark of an unsettled merge, not a block",
          "two versions of this program were joined here and nobody has chosen: take the right one");
  for (std::string_view const mark : {"\xFF\xFE", "\xFE\xFF"})
    if (line.starts_with(mark))
      return error_at(0, mark.size(), "utf-16", "the file is written in UTF-16, two bytes for each character",
                      "save the program as plain text, ASCII or UTF-8");
  std::size_t const first = skip_blanks(line, 0);
  if (first + 1 < line.size() && line[first] == '<' &&
      (is_letter(line[first + 1]) ||
       std::string_view("/!?").find(line[first + 1]) != std::string_view::npos)) {
    std::size_t const end = std::min(line.find('>', first), line.size() - 1);
    return error_at(first, end + 1 - first, "markup-tag", "found a markup tag, not a block",
                    "the file was saved as a web page or document: save the program itself as plain text");
  }
  return std::nullopt;
}

} // namespace

std::string_view name_at(std::string_view line, std::size_t at) {
  std::size_t end = at;
  while (end < line.size() && (is_letter(line[end]) || is_digit(line[end]) || line[end] == '_'))
    ++end;
  return line.substr(at, end - at);
}

std::optional<ParseError> foreign_line(Stop const& stop) {
  if (auto error = wrong_file(stop)) return error;
  // The name that the grammar stopped in begins where letters and digits begin.
  std::size_t begin = std::min(stop.at, stop.line.size());
  while (begin > 0 && !name_at(stop.line, begin - 1).empty())
    --begin;
  std::string_view const name = name_at(stop.line, begin);
  if (name.empty() || !(is_letter(name[0]) || name[0] == '_')) return std::nullopt;
  auto const letters = std::count_if(name.begin(), name.end(), is_letter);
  std::size_t const next = skip_blanks(stop.line, begin + name.size());
  char const behind = next < stop.line.size() ? stop.line[next] : '\0';

  if (lower(name) == "print")
    return error_at(begin, name.size(), "print-statement", "a print statement is not part of the language",
                    "text for the operator stands in a comment: (MSG, ...)");
  if (behind == '=' && name.size() > 1)
    return error_at(begin, next + 1 - begin, "assignment-to-name",
                    fmt::format("'{}' is given a value, but a name alone is no parameter", name),
                    fmt::format("parameters are written #1=... or #<{}>=...", lower(name)));
  if (behind == '=')
    return error_at(
        next, 1, "equals-sign", fmt::format("found '=' behind the letter {}", upper(name[0])),
        fmt::format("a word is the letter and its number: {}10, not {}=10", upper(name[0]), upper(name[0])));
  if (behind == '(' && next == begin + name.size() && letters > 1)
    return error_at(
        begin, name.size() + 1, "call-of-name", fmt::format("'{}(' calls something that is not here", name),
        "this line is of another language: post the program for a control that reads plain blocks");
  return std::nullopt;
}

std::optional<ParseError> foreign_character(Stop const& stop) {
  if (stop.at_end()) return std::nullopt;
  std::string_view const line = stop.line;
  std::size_t const at = stop.at;
  char const c = line[at];

  if (c == ',') {
    std::size_t const next = skip_blanks(line, at + 1);
    if (at > 0 && is_digit(line[at - 1]) && at + 1 < line.size() && is_digit(line[at + 1]))
      return error_at(at, 1, "decimal-comma", "found a comma inside a number", "write a decimal point");
    if (next < line.size() && std::string_view("RCA").find(upper(line[next])) != std::string_view::npos) {
      std::size_t end = skip_blanks(line, next + 1);
      while (end < line.size() && (is_digit(line[end]) || line[end] == '.' || line[end] == '-'))
        ++end;
      return error_at(at, end - at, "corner-word",
                      fmt::format("the corner word '{}' cannot be read", line.substr(at, end - at)),
                      "post the program with its corner rounds and chamfers written out as arcs and lines");
    }
  }
  if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F)
    return error_at(at, 1, "control-character",
                    fmt::format("found {}, which no block holds", describe(line, at)),
                    c == 0x1A ? "it is the end-of-file mark of an old system: delete it"
                              : "the file was damaged on its way, or is not a program");
  if (static_cast<unsigned char>(c) < 0x80) return std::nullopt;
  char32_t code_point = 0;
  std::size_t const length = text::utf8_character(line.substr(at), code_point);
  auto const like = std::find_if(look_alikes.begin(), look_alikes.end(),
                                 [&](LookAlike const& entry) { return entry.code_point == code_point; });
  if (length != 0 && like != look_alikes.end())
    return error_at(at, length, "foreign-character", fmt::format("found {} outside a comment", like->what),
                    like->like == " " ? "write an ordinary blank"
                                      : fmt::format("it only looks like '{}': type it anew", like->like));
  return error_at(at, std::max<std::size_t>(length, 1), "foreign-character",
                  fmt::format("found {} outside a comment", describe(line, at)),
                  "only comments may hold such characters");
}

} // namespace restep::grammar
