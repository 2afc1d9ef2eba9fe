#pragma once

#include "grammar/ast.hpp"
#include "grammar/config.hpp"

/// Values: numbers, parameters, functions and what stands in square brackets.
namespace restep::grammar {

using value_type = x3::rule<struct value_class, ast::Operand>;
using bracket_type = x3::rule<struct bracket_class, ast::Expression>;
using parameter_type = x3::rule<struct parameter_class, ast::Operand>;
using set_value_type = x3::rule<struct set_value_class, ast::Operand>;

inline value_type const value = "a number";
inline bracket_type const bracket = "an expression in square brackets";
inline parameter_type const parameter = "a parameter";
/// What a parameter is set to: a value, or an expression without its brackets (trade).
inline set_value_type const set_value = "a number";

BOOST_SPIRIT_DECLARE(value_type, bracket_type, parameter_type, set_value_type)

} // namespace restep::grammar
