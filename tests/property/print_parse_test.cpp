// Text made from the rules of grammar/gcode.ebnf: parse, print, parse is the identity.
#include "grammar/parse.hpp"
#include "interpret/evaluate.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

using namespace restep;
namespace ast = grammar::ast;

namespace {

// Printing: one form for each tree.

constexpr char const* operators[] = {"**",  "*",  "/",  "MOD", "+",  "-",  "OR", "XOR",
                                     "AND", "EQ", "NE", "GT",  "GE", "LT", "LE"};
constexpr char const* functions[] = {"ABS", "ACOS", "ASIN",  "COS", "EXP",  "FIX",
                                     "FUP", "LN",   "ROUND", "SIN", "SQRT", "TAN"};
constexpr char const* o_keywords[] = {"sub",      "endsub", "call",      "return", "while",
                                      "endwhile", "do",     "if",        "elseif", "else",
                                      "endif",    "repeat", "endrepeat", "break",  "continue"};

struct Print {
  std::string operator()(ast::Operand const& operand) const {
    return boost::apply_visitor(*this, operand.get());
  }
  std::string operator()(ast::Number const& number) const {
    std::int64_t const scaled = number.decimal.scaled;
    return fmt::format("{}{}.{:09}", scaled < 0 ? "-" : "", std::abs(scaled) / grammar::Decimal::one,
                       std::abs(scaled) % grammar::Decimal::one);
  }
  std::string operator()(ast::NamedParameter const& parameter) const { return "#<" + parameter.name + ">"; }
  std::string operator()(ast::Parameter const& parameter) const { return "#" + (*this)(parameter.index); }
  std::string operator()(ast::Call const& call) const {
    return functions[static_cast<int>(call.function)] + (*this)(call.argument);
  }
  std::string operator()(ast::ArcTangent const& node) const {
    return "ATAN" + (*this)(node.y) + "/" + (*this)(node.x);
  }
  std::string operator()(ast::Expression const& node) const {
    std::string text = (*this)(node.first);
    for (auto const& operation : node.rest)
      text += fmt::format(" {} {}", operators[static_cast<int>(operation.op)], (*this)(operation.operand));
    return node.bracketed ? "[" + text + "]" : text;
  }
  std::string operator()(ast::Word const& word) const { return word.letter + (*this)(word.value); }
  std::string operator()(ast::Setting const& setting) const {
    return (*this)(setting.target) + "=" + (*this)(setting.value);
  }
  std::string operator()(ast::Comment const&) const { return "()"; }
  std::string operator()(ast::Goto const& node) const { return "GOTO" + (*this)(node.target); }
  std::string operator()(ast::Conditional const& node) const {
    auto const* const go_to = boost::get<ast::Goto>(&node.consequence.get());
    return "IF" + (*this)(node.condition) +
           (go_to != nullptr ? (*this)(*go_to)
                             : "THEN" + (*this)(boost::get<ast::Setting>(node.consequence.get())));
  }
  std::string operator()(ast::While const& node) const {
    return "WHILE" + (*this)(node.condition) + "DO" + (*this)(node.number);
  }
  std::string operator()(ast::Loop const& node) const {
    return (node.part == ast::LoopPart::begin ? "DO" : "END") + (*this)(node.number);
  }
  std::string operator()(ast::OWord const& node) const {
    auto const* const named = boost::get<ast::NamedParameter>(&node.label.get());
    std::string text = "O" + (named != nullptr ? "<" + named->name + ">" : (*this)(node.label));
    text += o_keywords[static_cast<int>(node.keyword)];
    for (auto const& argument : node.arguments)
      text += (*this)(argument);
    return text;
  }
};

std::string print(ast::Block const& block) {
  std::string text = block.deleted ? "/" : "";
  if (block.number) text += fmt::format("N{} ", block.number->value);
  for (auto const& item : block.items)
    text += boost::apply_visitor(Print{}, item.get()) + " ";
  return text;
}

// Making: text by the rules, with blanks and letter case as they come.

int pick(int low, int high) {
  return property::draw(low, high);
}
std::string blank() {
  return *rc::gen::element<std::string>("", "", "", " ", "\t", "  ");
}
std::string any_case(std::string text) {
  if (pick(0, 2) == 0)
    for (char& c : text)
      c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}
std::string number() {
  std::string const sign = *rc::gen::element<std::string>("", "", "-", "+");
  int const whole = pick(0, 9999);
  switch (pick(0, 4)) {
  case 0: return sign + std::to_string(whole);
  case 1: return fmt::format("{}{}.", sign, whole);
  case 2: return fmt::format("{}.{}", sign, whole);
  default: return fmt::format("{}{}.{}", sign, whole, pick(0, 99999));
  }
}
std::string bracket(int depth);
std::string value(int depth) {
  switch (depth > 3 ? 0 : pick(0, 9)) {
  case 0:
  case 1:
  case 2:
  case 3: return number();
  case 4: return bracket(depth + 1);
  case 5: return fmt::format("#{}", pick(1, 5399));
  case 6: return any_case("#<Yoke_" + std::to_string(pick(0, 9)) + ">");
  case 7: return any_case("ATAN") + bracket(depth + 1) + blank() + "/" + bracket(depth + 1);
  case 8:
    return "[" + *rc::gen::element<std::string>("-", "+") + blank() + bracket(depth + 1) +
           "]"; // never before "**"
  default: return any_case(functions[pick(0, 12)]) + blank() + bracket(depth + 1);
  }
}
std::string bracket(int depth) {
  std::string text = "[" + blank() + value(depth);
  for (int i = pick(0, 3); i > 0; --i)
    text += blank() + any_case(operators[pick(0, 15)]) + blank() + value(depth);
  return text + blank() + "]";
}
/// What a parameter may be set to without brackets.
std::string sum() {
  std::string text = value(0);
  for (int i = pick(1, 3); i > 0; --i)
    text += blank() + any_case(operators[pick(0, 9)]) + blank() + value(0);
  return text;
}
std::string item(bool alone) {
  if (alone) {
    switch (pick(0, 8)) {
    case 0: return any_case("IF") + bracket(0) + any_case("GOTO") + std::to_string(pick(1, 999));
    case 1: return any_case("IF") + blank() + bracket(0) + any_case("THEN") + "#5=" + value(0);
    case 2: return any_case("WHILE") + bracket(0) + any_case("DO") + blank() + std::to_string(pick(1, 9));
    case 3: return any_case(*rc::gen::element<std::string>("DO", "END")) + std::to_string(pick(1, 9));
    case 4: return any_case("GOTO") + std::to_string(pick(1, 999));
    case 5: return any_case("O<Cam>") + blank() + any_case(o_keywords[pick(0, 15)]) + bracket(0) + bracket(0);
    default:
      return fmt::format("{}{}", any_case("O"), pick(1, 9999)) + any_case(o_keywords[pick(0, 15)]) +
             bracket(0);
    }
  }
  switch (pick(0, 6)) {
  case 0:
    return fmt::format("#{}{}={}{}", pick(1, 5399), blank(), blank(), pick(0, 2) == 0 ? sum() : value(0));
  case 1: return "(a striker cam)";
  default: {
    std::string const letters = "ABCDFGHIJKLMPQRSTUVWXYZ";
    std::string const letter(1, letters[static_cast<std::size_t>(pick(0, 23))]);
    return any_case(letter) + blank() + value(0);
  }
  }
}
std::string block() {
  std::string text = blank() + *rc::gen::element<std::string>("", "", "", "/") + blank();
  if (pick(0, 3) == 0) text += any_case("N") + std::to_string(pick(0, 99999)) + blank();
  if (pick(0, 4) == 0) return text + item(true);
  for (int i = pick(0, 8); i > 0; --i)
    text += item(false) + blank();
  return text + (pick(0, 5) == 0 ? "; to the shoulder" : "");
}

} // namespace

TEST_CASE("Parse, print, parse gives the same tree") {
  REQUIRE(property::holds_often(2000, [] {
    auto const text = block();
    auto const tree = grammar::parse_block(text);
    if (!tree) RC_FAIL(text + "\n" + tree.error().message);
    auto const printed = print(*tree);
    auto const again = grammar::parse_block(printed);
    if (!again) RC_FAIL(text + "\n" + printed + "\n" + again.error().message);
    if (print(*again) != printed) RC_FAIL(text + "\n" + printed + "\n" + print(*again));
  }));
}

TEST_CASE("Parse, print, parse gives the same words") {
  REQUIRE(property::holds_often(1000, [] {
    auto const text = block();
    auto const tree = grammar::parse_block(text);
    RC_PRE(tree.has_value());
    auto const printed = print(*tree);
    auto const again = grammar::parse_block(printed);
    RC_ASSERT(again.has_value());
    interpret::Parameters parameters(interpret::Parameters::Unset::zero);
    grammar::WordBlock one;
    grammar::WordBlock other;
    auto const a = interpret::evaluate(*tree, text, parameters, one, interpret::Unknowns::allowed);
    auto const b = interpret::evaluate(*again, printed, parameters, other, interpret::Unknowns::allowed);
    RC_ASSERT(a.has_value() == b.has_value());
    if (!a) {
      RC_ASSERT(a.error().code == b.error().code);
      return;
    }
    RC_ASSERT(one.size == other.size);
    for (std::size_t i = 0; i < one.size; ++i) {
      RC_ASSERT(one.words[i].letter == other.words[i].letter);
      RC_ASSERT(one.words[i].value.scaled == other.words[i].value.scaled);
    }
  }));
}
