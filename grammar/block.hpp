#pragma once

#include "grammar/ast.hpp"
#include "grammar/config.hpp"

namespace restep::grammar {

using block_type = x3::rule<struct block_class, ast::Block>;

inline block_type const block = "a block";

BOOST_SPIRIT_DECLARE(block_type)

} // namespace restep::grammar
