#pragma once

#include "grammar/ast.hpp"
#include "grammar/config.hpp"

/// What a block is made of. An O word or O-word keyword stands before every other item but comments.
namespace restep::grammar {

using item_type = x3::rule<struct item_class, ast::Item>;
using o_item_type = x3::rule<struct o_item_class, ast::Item>;
using comment_type = x3::rule<struct comment_class, ast::Comment>;

inline item_type const item = "a word";
inline o_item_type const o_item = "an O word";
inline comment_type const comment = "a comment";

BOOST_SPIRIT_DECLARE(item_type, o_item_type, comment_type)

} // namespace restep::grammar
