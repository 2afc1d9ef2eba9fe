#pragma once

#include "grammar/ast.hpp"
#include "grammar/parse.hpp"

#include <optional>
#include <string_view>

namespace restep::interpret {

/// The first thing in a block that shops' controls read and the grammar of NISTIR 6556 (appendix E) does not
/// have: a numbered block delete, a named parameter, a sign before a value that is no number, a comparison,
/// an expression without brackets. Jumps, loops and subprograms are refused where they would run.
std::optional<grammar::ParseError> beyond_standard(grammar::ast::Block const& block, std::string_view line);

} // namespace restep::interpret
