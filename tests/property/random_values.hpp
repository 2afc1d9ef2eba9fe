#pragma once

#include "reference_interpreter.hpp"
#include "tests/draw.hpp"

#include <fmt/format.h>

#include <string>
#include <vector>

namespace restep::property {

/// Writes the lines of a random program and runs them on the other interpreter as they come, so that the next
/// ones fit; gives words their values in every form that the language has.
class ProgramWriter {
protected:
  explicit ProgramWriter(ReferenceControl const& control)
      : reference_(control) {}

  ReferenceInterpreter reference_;
  std::string program_;
  std::vector<std::string> words_; ///< of the block in work

  static int pick(int low, int high) { return draw(low, high); }
  static bool coin() { return pick(0, 2) == 1; }
  static bool rarely() { return pick(0, 8) == 1; }

  void emit(std::string const& line) {
    program_ += line + "\n";
    reference_.block(line);
  }

  static std::string literal(double value) {
    std::string text = fmt::format("{:.6f}", value);
    while (text.back() == '0')
      text.pop_back();
    if (text.back() == '.' && coin()) text.pop_back();
    if (text.starts_with("0.") && text.size() > 2 && coin()) text.erase(0, 1);
    return text;
  }

  std::string operand(int depth) {
    static char const* const functions[] = {"ABS", "ACOS", "ASIN",  "COS", "EXP",  "FIX",
                                            "FUP", "LN",   "ROUND", "SIN", "sqrt", "TAN"};
    switch (pick(0, depth > 0 ? 7 : 3)) {
    case 0: return fmt::format("#{}", pick(1, 4));
    case 3: return fmt::format("{}[{}]", functions[pick(0, 12)], terms(depth - 1));
    case 4: return fmt::format("ATAN[{}]/[{}]", terms(depth - 1), terms(depth - 1));
    case 5:
    case 6: return fmt::format("[{}]", terms(depth - 1));
    default: return literal(pick(-4000, 4000) / 100.0);
    }
  }
  std::string terms(int depth) {
    static char const* const operators[] = {"+",     "-",     "*",    "/",     "**",
                                            " MOD ", " AND ", " or ", " XOR ", " - "};
    std::string text = operand(depth);
    for (int more = pick(0, 3); more > 0; --more)
      text += operators[pick(0, 10)] + operand(depth);
    return text;
  }

  /// An expression and what is left of `value` without it.
  std::string expression(double value) {
    std::string const text = terms(2);
    std::string upper;
    for (char const c : text)
      if (c != ' ') upper += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    ReferenceValues values = reference_.values();
    values.judge_anew();
    std::string const whole = "[" + upper + "]";
    char const* at = whole.c_str();
    double const found = values.real(at);
    if (values.brittle || !(std::abs(found) < 1000)) return literal(value);
    return fmt::format("[[{}]{:+.9f}]", text, value - found);
  }

  /// `value` in one of the forms that a word may take. Parameters are set in a block of their own.
  std::string real(double value) {
    switch (pick(0, 12)) {
    case 0:
    case 1: return expression(value);
    case 2: {
      int const index = next_parameter_++;
      emit(fmt::format("#{}={}", index, literal(value)));
      // A setting in the block itself comes too late for its words.
      if (coin()) words_.push_back(fmt::format("#{}={}", index, pick(-99, 99)));
      return fmt::format("#{}", index);
    }
    case 3: {
      int const index = next_parameter_++;
      emit(fmt::format("#{}={} #[{}+1]=[{}]", index, literal(value), index, index));
      ++next_parameter_;
      return fmt::format("##[{}+1]", index);
    }
    case 4: {
      int const index = next_parameter_++;
      emit(fmt::format("#<reach {}>={}", index, literal(value)));
      return fmt::format("#<Reach{}>", index);
    }
    default: return literal(value);
    }
  }
  static std::string whole(int value) {
    return rarely() ? fmt::format("[{}+{}]", value - 1, 1) : std::to_string(value);
  }

  static std::string code(int tenths) {
    if (tenths % 10 != 0) return fmt::format("G{}.{}", tenths / 10, tenths % 10);
    if (rarely()) return fmt::format("g[{}*2]", tenths / 20.0);
    return fmt::format("G{:0{}}", tenths / 10, pick(1, 3));
  }

  void word(char letter, std::string const& value) { words_.push_back(letter + value); }

private:
  int next_parameter_ = 4;
};

} // namespace restep::property
