#pragma once

#include "grammar/ast.hpp"

#include <string_view>

/// The arithmetic of the language (NISTIR 6556, 3.3.2.3 and 3.3.2.4), angles in degrees.
namespace restep::interpret {

/// A value, or why there is none ("division by zero").
struct Arithmetic {
  double value = 0;
  std::string_view error;
};

Arithmetic apply_operator(grammar::ast::Operator op, double left, double right);
Arithmetic call_function(grammar::ast::Function function, double argument);

/// Quadrant-aware, in (-180, 180].
Arithmetic arc_tangent(double y, double x);

bool is_comparison(grammar::ast::Operator op);
bool is_logic(grammar::ast::Operator op);

} // namespace restep::interpret
