#pragma once

#include "grammar/words.hpp"
#include "text/place.hpp"

#include <boost/spirit/home/x3/support/ast/variant.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

/// The tree of one block, as the full grammar reads it. Plain data: what it means is decided above.
/// Every span counts bytes from the start of the line.
namespace restep::grammar::ast {

namespace x3 = boost::spirit::x3;

enum class Operator : std::uint8_t {
  power,
  multiply,
  divide,
  modulo,
  add,
  subtract,
  logic_or,
  logic_xor,
  logic_and,
  equal,
  not_equal,
  greater,
  greater_equal,
  less,
  less_equal
};

/// The functions of one argument; angles in degrees.
enum class Function : std::uint8_t { abs, acos, asin, cos, exp, fix, fup, ln, round, sin, sqrt, tan };

/// A number as written. `decimal` is exact and valid when `fits`; a number beyond its range has only `value`.
struct Number {
  double value = 0;
  Decimal decimal;
  bool fits = false;
  bool split = false; ///< blanks stand between its digits: legal, and perhaps a lost letter
  text::Span span;
};

/// "#<name>": the name in lower case and without blanks, as the language reads it.
struct NamedParameter {
  std::string name;
  text::Span span;
};

struct Parameter;  // "#" and the operand that gives its index
struct Call;       // "SIN[...]"
struct ArcTangent; // "ATAN[...]/[...]"
struct Expression; // what stands inside square brackets

struct Operand : x3::variant<Number, NamedParameter, x3::forward_ast<Parameter>, x3::forward_ast<Call>,
                             x3::forward_ast<ArcTangent>, x3::forward_ast<Expression>> {
  using base_type::base_type;
  using base_type::operator=;
};

struct Parameter {
  Operand index;
  text::Span span;
};

struct Operation {
  Operator op = Operator::add;
  Operand operand;
  text::Span span; ///< the operator and its right operand
};

/// Operands of one precedence level, worked from left to right; `bracketed` when square brackets stand around
/// this very level.
struct Expression {
  Operand first;
  std::vector<Operation> rest;
  bool bracketed = false;
  text::Span span;
};

struct Call {
  Function function = Function::abs;
  Expression argument;
  text::Span span;
};

struct ArcTangent {
  Expression y;
  Expression x;
  text::Span span;
};

/// A letter in upper case and its value. A program number (O1234, :1234) is a word with the letter O.
struct Word {
  char letter = 0;
  Operand value;
  text::Span span;
};

/// "#3 = 15"; the target is a Parameter or a NamedParameter.
struct Setting {
  Operand target;
  Operand value;
  text::Span span;
};

struct Comment {
  CommentStyle style = CommentStyle::parentheses;
  bool message = false; ///< begins with "MSG,"
  text::Span text;      ///< without the marks
  text::Span span;
};

/// "GOTO 10"
struct Goto {
  Operand target;
  text::Span span;
};

struct Consequence : x3::variant<Goto, Setting> {
  using base_type::base_type;
  using base_type::operator=;
};

/// "IF [..] GOTO 10", "IF [..] THEN #1 = 2"
struct Conditional {
  Expression condition;
  Consequence consequence;
  text::Span span;
};

/// "WHILE [..] DO 1"
struct While {
  Expression condition;
  Operand number;
  text::Span span;
};

enum class LoopPart : std::uint8_t { begin, end };

/// "DO 1" without a condition, "END 1"
struct Loop {
  LoopPart part = LoopPart::end;
  Operand number;
  text::Span span;
};

enum class OKeyword : std::uint8_t {
  sub,
  endsub,
  call,
  return_,
  while_,
  endwhile,
  do_,
  if_,
  elseif,
  else_,
  endif,
  repeat,
  endrepeat,
  break_,
  continue_
};

/// "o<name> call [1] [2]": the label is a Number, a NamedParameter (its name), a Parameter or an Expression.
struct OWord {
  Operand label;
  OKeyword keyword = OKeyword::sub;
  std::vector<Expression> arguments;
  text::Span span;
};

struct Item : x3::variant<Word, Setting, Comment, Conditional, While, Loop, Goto, OWord> {
  using base_type::base_type;
  using base_type::operator=;
};

struct LineNumber {
  std::int64_t value = 0;
  text::Span span;
};

struct Block {
  LineKind kind = LineKind::blank;
  bool deleted = false;
  std::uint8_t delete_switch = 0; ///< 1 to 9 for "/1" to "/9", 0 for a bare "/"
  std::optional<LineNumber> number;
  std::vector<Item> items;
};

} // namespace restep::grammar::ast
