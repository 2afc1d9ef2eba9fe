#pragma once

#include "grammar/ast.hpp"
#include "grammar/words.hpp"

#include <tl/expected.hpp>

#include <string>
#include <string_view>

/// The language of one block, both tiers. Boost stays behind this header.
namespace restep::grammar {

/// The hot tier: a line of plain words (optional "/", optional N, letters with decimal numbers, blanks
/// between), no comment, no parameter, no expression. True when the whole line was taken; false says nothing
/// about the line except that the full grammar must look at it. Never allocates.
bool parse_plain(std::string_view line, WordBlock& block);

struct ParseError {
  text::Span span;     ///< where, within the line
  std::string code;    ///< kebab-case, for the finding
  std::string message; ///< "expected a number, found 'Y'"
  std::string hint;    ///< what would help, naming the likely slip; may be empty
};

/// The full grammar: everything gcode.ebnf describes, with a precise error for everything else.
tl::expected<ast::Block, ParseError> parse_block(std::string_view line);

} // namespace restep::grammar
