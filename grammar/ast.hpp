#pragma once
// The tree of one block, as the full grammar reads it. Filled in by the grammar; see parse.hpp.
namespace restep::grammar::ast {
struct Block {};
} // namespace restep::grammar::ast
