#pragma once

#include "grammar/parse.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

/// From "the grammar stopped here" to what the machinist likely slipped on.
namespace restep::grammar {

/// Where the grammar stopped: it wanted `wanted` (a rule's name) at byte `at`, blanks skipped.
struct Stop {
  std::string_view line;
  std::size_t at = 0;
  std::string_view wanted;

  bool at_end() const { return at >= line.size(); }
  char found() const { return at_end() ? '\0' : line[at]; }
};

ParseError diagnose(std::string_view line, std::size_t at, std::string_view wanted);

/// What stands at `at`, for people: "'Y'", "the end of the line", "the byte 0x1A".
std::string describe(std::string_view line, std::size_t at);

/// One error of `length` bytes at `at`.
ParseError error_at(std::size_t at, std::size_t length, std::string code, std::string message,
                    std::string hint);

/// Lines that were never blocks: merge markers, markup, names with "=" or "(", text.
std::optional<ParseError> foreign_line(Stop const& stop);

/// Characters that no block holds: other alphabets, control characters, corner words, decimal commas.
std::optional<ParseError> foreign_character(Stop const& stop);

/// The run of letters, digits and underscores at `at`.
std::string_view name_at(std::string_view line, std::size_t at);

} // namespace restep::grammar
