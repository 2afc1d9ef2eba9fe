#include "interpret/arithmetic.hpp"

#include <cmath>
#include <numbers>

namespace restep::interpret {

namespace {

using grammar::ast::Function;
using grammar::ast::Operator;

constexpr double degree = std::numbers::pi / 180.0;

// Two values that are equal but for the last bits of their computation compare as equal on no control alike;
// they are compared as they are.
Arithmetic truth(bool value) {
  return {value ? 1.0 : 0.0, {}};
}

// a MOD b lies in [0, |b|): never negative, for negative a either.
Arithmetic modulo(double a, double b) {
  if (b == 0) return {0, "MOD by zero"};
  double const rest = std::fmod(a, b);
  return {rest < 0 ? rest + std::abs(b) : rest, {}};
}

Arithmetic power(double base, double exponent) {
  if (base < 0 && exponent != std::floor(exponent))
    return {0, "a negative number has no power that is not whole"};
  if (base == 0 && exponent < 0) return {0, "division by zero: a negative power of zero"};
  return {std::pow(base, exponent), {}};
}

} // namespace

bool is_comparison(Operator op) {
  switch (op) {
  case Operator::equal:
  case Operator::not_equal:
  case Operator::greater:
  case Operator::greater_equal:
  case Operator::less:
  case Operator::less_equal: return true;
  default: return false;
  }
}

bool is_logic(Operator op) {
  return op == Operator::logic_and || op == Operator::logic_or || op == Operator::logic_xor;
}

Arithmetic apply_operator(Operator op, double left, double right) {
  switch (op) {
  case Operator::power: return power(left, right);
  case Operator::multiply: return {left * right, {}};
  case Operator::divide:
    if (right == 0) return {0, "division by zero"};
    return {left / right, {}};
  case Operator::modulo: return modulo(left, right);
  case Operator::add: return {left + right, {}};
  case Operator::subtract: return {left - right, {}};
  case Operator::logic_or: return truth(left != 0 || right != 0);
  case Operator::logic_xor: return truth((left != 0) != (right != 0));
  case Operator::logic_and: return truth(left != 0 && right != 0);
  case Operator::equal: return truth(left == right);
  case Operator::not_equal: return truth(left != right);
  case Operator::greater: return truth(left > right);
  case Operator::greater_equal: return truth(left >= right);
  case Operator::less: return truth(left < right);
  case Operator::less_equal: return truth(left <= right);
  }
  return {0, "an operator that is not known"};
}

Arithmetic call_function(Function function, double x) {
  switch (function) {
  case Function::abs: return {std::abs(x), {}};
  case Function::acos:
    if (std::abs(x) > 1) return {0, "ACOS of a number outside -1 to 1"};
    return {std::acos(x) / degree, {}};
  case Function::asin:
    if (std::abs(x) > 1) return {0, "ASIN of a number outside -1 to 1"};
    return {std::asin(x) / degree, {}};
  case Function::cos: return {std::cos(x * degree), {}};
  case Function::exp: return {std::exp(x), {}};
  case Function::fix: return {std::floor(x), {}};
  case Function::fup: return {std::ceil(x), {}};
  case Function::ln:
    if (x <= 0) return {0, "LN of a number that is not positive"};
    return {std::log(x), {}};
  case Function::round: return {std::round(x), {}}; // halves away from zero
  case Function::sin: return {std::sin(x * degree), {}};
  case Function::sqrt:
    if (x < 0) return {0, "SQRT of a negative number"};
    return {std::sqrt(x), {}};
  case Function::tan:
    // 90 degrees and its odd multiples have no tangent; the nearest binary number would give a huge one.
    if (std::fmod(std::abs(x), 180.0) == 90.0) return {0, "TAN of a right angle"};
    return {std::tan(x * degree), {}};
  }
  return {0, "a function that is not known"};
}

Arithmetic arc_tangent(double y, double x) {
  if (x == 0 && y == 0) return {0, "ATAN of no direction: both values are zero"};
  double const angle = std::atan2(y, x) / degree;
  return {angle == -180.0 ? 180.0 : angle, {}};
}

} // namespace restep::interpret
