// real = number | "[" expression "]" | "#" index | function; operators only inside brackets
// (NISTIR 6556, 3.3.2). Each level of precedence is one rule; the tighter the operator, the earlier it
// stands.
#include "grammar/expression.hpp"

#include "grammar/ast_adapted.hpp"
#include "grammar/components.hpp"
#include "grammar/keyword.hpp"

namespace restep::grammar {

namespace {

using ast::Function;
using ast::Operator;
using OperatorName = std::pair<std::string_view, Operator>;
using FunctionName = std::pair<std::string_view, Function>;

constexpr auto power_sign = keywords<Operator, 1>({OperatorName{"**", Operator::power}});
constexpr auto product_sign =
    keywords<Operator, 3>({OperatorName{"*", Operator::multiply}, OperatorName{"/", Operator::divide},
                           OperatorName{"MOD", Operator::modulo}});
constexpr auto sum_sign =
    keywords<Operator, 5>({OperatorName{"+", Operator::add}, OperatorName{"-", Operator::subtract},
                           OperatorName{"OR", Operator::logic_or}, OperatorName{"XOR", Operator::logic_xor},
                           OperatorName{"AND", Operator::logic_and}});
constexpr auto comparison_sign =
    keywords<Operator, 6>({OperatorName{"EQ", Operator::equal}, OperatorName{"NE", Operator::not_equal},
                           OperatorName{"GT", Operator::greater}, OperatorName{"GE", Operator::greater_equal},
                           OperatorName{"LT", Operator::less}, OperatorName{"LE", Operator::less_equal}});
constexpr auto function_name =
    keywords<Function, 12>({FunctionName{"ABS", Function::abs}, FunctionName{"ACOS", Function::acos},
                            FunctionName{"ASIN", Function::asin}, FunctionName{"COS", Function::cos},
                            FunctionName{"EXP", Function::exp}, FunctionName{"FIX", Function::fix},
                            FunctionName{"FUP", Function::fup}, FunctionName{"LN", Function::ln},
                            FunctionName{"ROUND", Function::round}, FunctionName{"SIN", Function::sin},
                            FunctionName{"SQRT", Function::sqrt}, FunctionName{"TAN", Function::tan}});

struct call_class : StoreSpan {};
struct arc_tangent_class : StoreSpan {};
struct numbered_class : StoreSpan {};
struct named_class : StoreSpan {};
struct level_class : StoreSpan {};
struct signed_step_class : level_class {};
struct signed_value_class {
  template <typename Iterator, typename Context>
  void on_success(Iterator const& first, Iterator const& last, ast::Expression& node,
                  Context const& context) {
    node.bracketed = true;
    node.span = span_of(first, last, context);
  }
};

template <typename Tag>
using Level = x3::rule<Tag, ast::Expression>;
template <typename Tag>
using Step = x3::rule<Tag, ast::Operation>;

struct power_class : level_class {};
struct product_class : level_class {};
struct sum_class : level_class {};
struct comparison_class : level_class {};
struct power_step_class : level_class {};
struct product_step_class : level_class {};
struct sum_step_class : level_class {};
struct comparison_step_class : level_class {};

Level<power_class> const power = "an operand";
Level<product_class> const product = "an operand";
Level<sum_class> const sum = "an operand";
Level<comparison_class> const comparison = "an operand";
Step<power_step_class> const power_step = "an operator";
Step<product_step_class> const product_step = "an operator";
Step<sum_step_class> const sum_step = "an operator";
Step<comparison_step_class> const comparison_step = "an operator";

x3::rule<struct plain_sign_class, ast::Operator> const plain_sign = "a sign";
Step<signed_step_class> const signed_step = "a value";
x3::rule<struct unsigned_value_class, ast::Operand> const unsigned_value = "a value";
x3::rule<signed_value_class, ast::Expression> const signed_value = "a value";
x3::rule<call_class, ast::Call> const call = "a function";
x3::rule<arc_tangent_class, ast::ArcTangent> const arc_tangent = "ATAN";
x3::rule<numbered_class, ast::Parameter> const numbered = "a parameter";
x3::rule<named_class, ast::NamedParameter> const named = "a parameter";
x3::rule<struct name_class, std::string> const name = "a name and '>'";
x3::rule<struct index_class, ast::Operand> const index = "a parameter number";
x3::rule<struct open_class> const open = "'['";
x3::rule<struct close_class> const close = "']'";
x3::rule<struct second_argument_class> const second_argument = "'/'";

auto const open_def = x3::lit('[');
auto const close_def = x3::lit(']');
auto const second_argument_def = x3::lit('/');

auto const name_def = name_text >> '>';
auto const named_def = (x3::lit('#') >> '<') > name > no_span;
auto const index_def = value;
auto const numbered_def = x3::lit('#') > index > no_span;
auto const parameter_def = named | numbered;
auto const call_def = function_name > bracket;
auto const arc_tangent_def = keyword("ATAN") > bracket > second_argument > bracket;
auto const unsigned_value_def = bracket | parameter | arc_tangent | call;

// "-#1" is [0-#1]. Before "**" it would not be plain what the sign belongs to.
ast::Number zero() {
  ast::Number number;
  number.fits = true;
  return number;
}
auto const plain_sign_def =
    (x3::lit('-') >> x3::attr(ast::Operator::subtract)) | (x3::lit('+') >> x3::attr(ast::Operator::add));
auto const signed_step_def = plain_sign >> unsigned_value;
auto const signed_value_def = x3::attr(ast::Operand(zero())) >> x3::repeat(1)[signed_step] >> !x3::lit("**");
auto const value_def = spaced_number | unsigned_value | signed_value;

auto const power_step_def = power_sign > value;
auto const power_def = value >> *power_step;
auto const product_step_def = product_sign > power;
auto const product_def = power >> *product_step;
auto const sum_step_def = sum_sign > product;
auto const sum_def = product >> *sum_step;
auto const comparison_step_def = comparison_sign > sum;
auto const comparison_def = sum >> *comparison_step;
auto const bracket_def = open > comparison > close;
auto const set_value_def = (value >> !(power_sign | product_sign | sum_sign)) | sum;

BOOST_SPIRIT_DEFINE(plain_sign, signed_step, unsigned_value, signed_value, open, close, second_argument, name,
                    named, index, numbered, call, arc_tangent, power_step, power, product_step, product,
                    sum_step, sum, comparison_step, comparison)

} // namespace

struct bracket_class {
  template <typename Iterator, typename Context>
  void on_success(Iterator const& first, Iterator const& last, ast::Expression& node,
                  Context const& context) {
    node.bracketed = true;
    node.span = span_of(first, last, context);
  }
};

BOOST_SPIRIT_DEFINE(value, bracket, parameter, set_value)

BOOST_SPIRIT_INSTANTIATE(value_type, iterator_type, context_type)
BOOST_SPIRIT_INSTANTIATE(bracket_type, iterator_type, context_type)
BOOST_SPIRIT_INSTANTIATE(parameter_type, iterator_type, context_type)
BOOST_SPIRIT_INSTANTIATE(set_value_type, iterator_type, context_type)

} // namespace restep::grammar
