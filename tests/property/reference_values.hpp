#pragma once

#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <map>
#include <numbers>
#include <string>
#include <string_view>

/// Values of words, straight from NISTIR 6556 (3.3.2 and its parts, appendix E): numbers, parameters,
/// expressions and functions, with floating point and no checks. Named parameters are common practice.
namespace restep::property {

class ReferenceValues {
public:
  /// Set when a value lies so near to a jump of its function that the last bit decides, or is none, or when
  /// a chain of MODs makes something of a last bit.
  bool brittle = false;

  /// Judges what is read from here on for itself.
  void judge_anew() {
    brittle = false;
    magnified_ = 1;
  }

  void set(std::string const& name, double value) { parameters_[name] = value; }
  double get(std::string const& name) const { return parameters_.at(name); }

  /// Reads a value at `at`, blanks taken out and letters in upper case, and leaves `at` behind it.
  double real(char const*& at) {
    if (*at == '[') return expression(at);
    if (*at == '#') return get(parameter(at));
    if (std::isalpha(static_cast<unsigned char>(*at))) return unary(at);
    return number(at);
  }

  /// The number or the name of the parameter that is called at `at`, a "#".
  std::string parameter(char const*& at) {
    ++at;
    if (*at == '<') {
      char const* const begin = at;
      while (*at != '>')
        ++at;
      return {begin, ++at};
    }
    return std::to_string(std::lround(real(at)));
  }

private:
  std::map<std::string, double> parameters_;
  double magnified_ = 1; ///< what the MODs read so far have made of an error of 1

  static bool skip(char const*& at, std::string_view word) {
    if (std::string_view(at).substr(0, word.size()) != word) return false;
    at += word.size();
    return true;
  }

  /// A sign, digits and a point; std::strtod would see exponents and other bases too.
  static double number(char const*& at) {
    std::string digits;
    while (std::strchr("+-.0123456789", *at) != nullptr && *at != '\0') {
      if ((*at == '+' || *at == '-') && !digits.empty()) break;
      digits += *at++;
    }
    return std::atof(digits.c_str());
  }

  double checked(double value) {
    if (!(std::abs(value) < 1e6)) brittle = true;
    return value;
  }
  /// A value whose whole part is asked for.
  double away_from(double edge, double value) {
    double const distance = std::abs(value - edge - std::round(value - edge));
    if (distance < 1e-7) brittle = true;
    return value;
  }
  double away_from_zero(double value) {
    if (std::abs(value) < 1e-3) brittle = true;
    return value;
  }
  /// A zero that was worked out, not written, may be another zero elsewhere.
  bool truth(double value, std::string_view text) {
    bool const written = text.find_first_not_of("+-.0123456789") == text.npos;
    if (std::abs(value) < 1e-7 && !written) brittle = true;
    return value != 0;
  }

  // Three levels of operators, each from left to right (3.3.2.3).
  double expression(char const*& at) {
    char const* const begin = ++at;
    double value = product(at);
    while (*at != ']') {
      char const* const operation = at;
      if (skip(at, "+"))
        value += product(at);
      else if (skip(at, "-"))
        value -= product(at);
      else {
        bool const either = skip(at, "OR"), differ = !either && skip(at, "XOR");
        if (!either && !differ) skip(at, "AND");
        bool const left = truth(value, {begin, static_cast<std::size_t>(operation - begin)});
        char const* const second = at;
        double const other = product(at);
        bool const right = truth(other, {second, static_cast<std::size_t>(at - second)});
        value = either ? left || right : differ ? left != right : left && right;
      }
    }
    ++at;
    return checked(value);
  }

  double product(char const*& at) {
    double value = power(at);
    for (;;) {
      if (skip(at, "MOD"))
        value = modulo(value, power(at));
      else if (at[0] == '*' && at[1] != '*')
        value = checked(value * power(++at));
      else if (skip(at, "/"))
        value = checked(value / away_from_zero(power(at)));
      else
        return checked(value);
    }
  }

  double power(char const*& at) {
    double value = real(at);
    while (skip(at, "**")) {
      value = checked(std::pow(value, real(at)));
    }
    return checked(value);
  }

  /// Never negative (from memory, the report does not say).
  double modulo(double a, double b) {
    double const quotient = away_from(0, a / away_from_zero(b));
    // An error of the divisor counts as often as it goes into a: the last bit of 1e6 stays below 1e-5 so.
    magnified_ *= 1 + std::abs(quotient);
    if (magnified_ > 1e4) brittle = true;
    return a - std::abs(b) * std::floor(a / std::abs(b));
  }

  double unary(char const*& at) {
    constexpr double degree = std::numbers::pi / 180;
    if (skip(at, "ATAN")) {
      double const y = expression(at);
      double const x = expression(++at);
      if (std::abs(y) < 1e-7) brittle = true;
      away_from_zero(std::hypot(x, y));
      return std::atan2(y, x) / degree;
    }
    using Function = double (*)(double);
    struct Named {
      std::string_view name;
      Function function;
    };
    static constexpr std::array<Named, 12> functions{{
        {"ABS", [](double x) { return std::fabs(x); }},
        {"ACOS", [](double x) { return std::acos(x) / degree; }},
        {"ASIN", [](double x) { return std::asin(x) / degree; }},
        {"COS", [](double x) { return std::cos(x * degree); }},
        {"EXP", [](double x) { return std::exp(x); }},
        {"FIX", [](double x) { return std::floor(x); }},
        {"FUP", [](double x) { return std::ceil(x); }},
        {"LN", [](double x) { return std::log(x); }},
        {"ROUND", [](double x) { return std::round(x); }},
        {"SIN", [](double x) { return std::sin(x * degree); }},
        {"SQRT", [](double x) { return std::sqrt(x); }},
        {"TAN", [](double x) { return std::tan(x * degree); }},
    }};
    for (auto const& [name, function] : functions) {
      if (!skip(at, name)) continue;
      double const x = expression(at);
      if (name == "FIX" || name == "FUP") away_from(0, x);
      if (name == "ROUND") away_from(0.5, x);
      if (name == "TAN" && std::abs(std::cos(x * degree)) < 1e-3) brittle = true;
      if ((name == "ACOS" || name == "ASIN") && std::abs(x) > 0.999) brittle = true;
      return checked(function(x));
    }
    brittle = true;
    return 0;
  }
};

} // namespace restep::property
