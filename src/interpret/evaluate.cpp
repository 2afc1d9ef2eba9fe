#include "interpret/evaluate.hpp"

#include "interpret/arithmetic.hpp"

#include <fmt/format.h>

#include <cctype>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <utility>

namespace restep::interpret {

namespace {

namespace ast = grammar::ast;
using grammar::Decimal;
using grammar::ParseError;
using grammar::WordBlock;

// NISTIR 6556, 3.3.2.1: where a whole number is wanted, a value this near to one is taken for it.
constexpr double whole_number_tolerance = 0.0001;

ParseError refusal(text::Span span, std::string code, std::string message, std::string hint) {
  return {span, std::move(code), std::move(message), std::move(hint)};
}

/// Works out values; the first refusal is remembered and everything after it counts for nothing.
class Evaluator {
public:
  explicit Evaluator(Parameters const& parameters)
      : parameters_(parameters) {}

  double operator()(ast::Operand const& operand) { return boost::apply_visitor(*this, operand.get()); }

  double operator()(ast::Number const& number) {
    if (!number.fits && !std::isfinite(number.value))
      return refuse(number.span, "number-too-large", "this number is too large for any control", "");
    if (number.split) split_numbers.push_back(number.span);
    return number.value;
  }

  double operator()(ast::NamedParameter const& parameter) {
    auto const value = parameters_.get(parameter.name);
    if (value) return *value;
    if (parameters_.is_lost(parameter.name)) return refuse_lost(parameter.span);
    return refuse(parameter.span, "unknown-parameter",
                  fmt::format("the value of #<{}> is not known: the program has not set it", parameter.name),
                  "set it in the program before it is used");
  }

  double operator()(ast::Parameter const& parameter) {
    auto const index = index_of(parameter);
    if (!index) return 0;
    if (auto const value = parameters_.get(*index)) return *value;
    if (parameters_.is_lost(std::to_string(*index))) return refuse_lost(parameter.span);
    if (*index > Parameters::last)
      return refuse(
          parameter.span, "unknown-parameter",
          fmt::format("#{} lies outside #1 to #{}: a control keeps its own state there, which is not known "
                      "here",
                      *index, Parameters::last),
          "");
    if (*index >= Parameters::first_machine_owned)
      return refuse(
          parameter.span, "unknown-parameter",
          fmt::format("#{} is written by the control (probe results, home positions, offsets): its value is "
                      "not known here",
                      *index),
          "");
    return refuse(
        parameter.span, "unknown-parameter",
        fmt::format("the value of #{} is not known: the program has not set it, and the control may still "
                    "hold one from earlier work",
                    *index),
        "set it in the program before it is used");
  }

  double operator()(ast::Call const& call) {
    double const argument = (*this)(call.argument);
    return finish(call_function(call.function, argument), call.span);
  }

  double operator()(ast::ArcTangent const& node) {
    double const y = (*this)(node.y);
    double const x = (*this)(node.x);
    return finish(arc_tangent(y, x), node.span);
  }

  double operator()(ast::Expression const& expression) {
    if (!order_is_plain(expression)) return 0;
    double value = (*this)(expression.first);
    for (ast::Operation const& operation : expression.rest) {
      double const right = (*this)(operation.operand);
      value = finish(apply_operator(operation.op, value, right), operation.span);
    }
    return value;
  }

  /// The number of a numbered parameter, if it is one that a program may use.
  std::optional<int> index_of(ast::Parameter const& parameter) {
    double const value = (*this)(parameter.index);
    if (error) return std::nullopt;
    double const whole = std::round(value);
    if (std::abs(value - whole) > whole_number_tolerance) {
      refuse(parameter.span, "parameter-index", fmt::format("a parameter's number is whole, not {}", value),
             "");
      return std::nullopt;
    }
    if (whole < Parameters::first || whole > std::numeric_limits<int>::max()) {
      refuse(parameter.span, "parameter-index",
             fmt::format("a parameter's number lies between {} and {}, not at {}", Parameters::first,
                         Parameters::last, whole),
             "");
      return std::nullopt;
    }
    return static_cast<int>(whole);
  }

  double refuse(text::Span span, std::string code, std::string message, std::string hint) {
    if (!error) error = refusal(span, std::move(code), std::move(message), std::move(hint));
    return 0;
  }

  double refuse_lost(text::Span span) { return refuse(span, std::string(lost_parameter), {}, {}); }

  std::optional<ParseError> error;
  std::vector<text::Span> split_numbers;

private:
  double finish(Arithmetic result, text::Span span) {
    if (!result.error.empty()) return refuse(span, "arithmetic", std::string(result.error), "");
    if (!std::isfinite(result.value))
      return refuse(span, "arithmetic", "the result is beyond every number range", "");
    return result.value;
  }

  /// Controls disagree whether AND or EQ binds tighter; who mixes them must bracket them.
  bool order_is_plain(ast::Expression const& expression) {
    if (expression.rest.empty() || !is_comparison(expression.rest.front().op)) return true;
    auto const bare_logic = [](ast::Operand const& operand) {
      auto const* const level = boost::get<x3_forward>(&operand.get());
      return level != nullptr && !level->get().bracketed && has_logic(level->get());
    };
    bool mixed = bare_logic(expression.first);
    for (ast::Operation const& operation : expression.rest)
      mixed = mixed || bare_logic(operation.operand);
    if (mixed)
      refuse(expression.span, "order-of-operators",
             "a comparison stands beside AND, OR or XOR, and controls disagree which comes first",
             "put square brackets around each comparison");
    return !mixed;
  }

  using x3_forward = ast::x3::forward_ast<ast::Expression>;

  static bool has_logic(ast::Expression const& level) {
    for (ast::Operation const& operation : level.rest)
      if (is_logic(operation.op)) return true;
    return false;
  }

  Parameters const& parameters_;
};

/// The exact decimal of a literal, or the value rounded to 1e-9; nothing when it is out of range.
std::optional<Decimal> decimal_of(ast::Operand const& operand, double value) {
  if (auto const* const number = boost::get<ast::Number>(&operand.get()))
    return number->fits ? std::optional(number->decimal) : std::nullopt;
  double const scaled = value * static_cast<double>(Decimal::one);
  if (!(std::abs(scaled) < 9.2e18)) return std::nullopt;
  Decimal decimal;
  decimal.scaled = std::llround(scaled); // halves go away from zero
  decimal.point = true;
  return decimal;
}

/// Puts the items of a block, one by one, where they belong.
class BlockEvaluator {
public:
  BlockEvaluator(std::string_view line, Parameters const& parameters, WordBlock& out, Unknowns unknowns)
      : evaluator_(parameters)
      , line_(line)
      , out_(out)
      , unknowns_(unknowns) {}

  void operator()(ast::Word const& word) {
    double const value = evaluator_(word.value);
    bool const unknown = take_unknown();
    if (unknown) result_.unknown_words.push_back(static_cast<std::uint8_t>(out_.size));
    if (evaluator_.error) return;
    auto const decimal = unknown ? Decimal{} : decimal_of(word.value, value);
    if (!decimal) {
      evaluator_.refuse(word.span, "number-too-large",
                        fmt::format("the value of {} is too large", word.letter), "");
    } else if (out_.size == WordBlock::capacity) {
      evaluator_.refuse(word.span, "too-many-words",
                        fmt::format("a block of more than {} words is no block", WordBlock::capacity),
                        "the line ends of the file may be lost");
    } else {
      out_.words[out_.size++] = {word.letter, *decimal, word.span};
    }
  }

  void operator()(ast::Setting const& setting) {
    ParameterSetting made;
    if (auto const* const named = boost::get<ast::NamedParameter>(&setting.target.get())) {
      made.name = named->name;
    } else if (auto const* const numbered =
                   boost::get<ast::x3::forward_ast<ast::Parameter>>(&setting.target.get())) {
      auto const index = evaluator_.index_of(numbered->get());
      if (!index) return;
      if (*index > Parameters::last) {
        evaluator_.refuse(numbered->get().span, "parameter-index",
                          fmt::format("#{} cannot be set: what lies above #{} belongs to the control", *index,
                                      Parameters::last),
                          "");
        return;
      }
      made.index = *index;
    }
    made.value = evaluator_(setting.value);
    made.known = !take_unknown();
    made.lost = !made.known && lost_;
    made.span = setting.span;
    result_.settings.push_back(std::move(made));
  }

  void operator()(ast::Comment const& comment) {
    out_.comments.push_back({line_.substr(comment.text.begin, comment.text.end - comment.text.begin),
                             comment.style, comment.span});
  }

  void operator()(ast::Conditional const&) { result_.flow = true; }
  void operator()(ast::While const&) { result_.flow = true; }
  void operator()(ast::Loop const&) { result_.flow = true; }
  void operator()(ast::Goto const&) { result_.flow = true; }
  void operator()(ast::OWord const&) { result_.flow = true; }

  tl::expected<Evaluation, ParseError> finish() {
    if (evaluator_.error) return tl::unexpected(std::move(*evaluator_.error));
    result_.split_numbers = std::move(evaluator_.split_numbers);
    return std::move(result_);
  }

  bool refused() const { return evaluator_.error.has_value(); }

private:
  /// True when the last value is not known and that is allowed; the refusal is then only kept.
  bool take_unknown() {
    if (unknowns_ == Unknowns::refused || !evaluator_.error) return false;
    lost_ = evaluator_.error->code == lost_parameter;
    if (!lost_ && evaluator_.error->code != "unknown-parameter") return false;
    if (!result_.unknown) result_.unknown = std::move(evaluator_.error);
    evaluator_.error.reset();
    return true;
  }

  Evaluator evaluator_;
  std::string_view line_;
  WordBlock& out_;
  Unknowns unknowns_;
  bool lost_ = false; ///< the last unknown value is the consequence of a refused block
  Evaluation result_;
};

template <typename Node>
tl::expected<double, ParseError> value_of(Node const& node, Parameters const& parameters) {
  Evaluator evaluator(parameters);
  double const value = evaluator(node);
  if (evaluator.error) return tl::unexpected(std::move(*evaluator.error));
  return value;
}

} // namespace

tl::expected<Evaluation, ParseError> evaluate(ast::Block const& block, std::string_view line,
                                              Parameters const& parameters, WordBlock& out,
                                              Unknowns unknowns) {
  out.clear();
  out.kind = block.kind;
  out.deleted = block.deleted;
  out.delete_switch = block.delete_switch;
  if (block.number) {
    out.has_number = true;
    out.number = block.number->value;
    out.number_span = block.number->span;
  }
  BlockEvaluator evaluator(line, parameters, out, unknowns);
  for (ast::Item const& item : block.items) {
    boost::apply_visitor([&](auto const& node) { evaluator(node); }, item.get());
    if (evaluator.refused()) break;
  }
  return evaluator.finish();
}

tl::expected<double, ParseError> evaluate(ast::Operand const& operand, Parameters const& parameters) {
  return value_of(operand, parameters);
}

tl::expected<double, ParseError> evaluate(ast::Expression const& expression, Parameters const& parameters) {
  return value_of(expression, parameters);
}

std::optional<ParseError> own_by_control(Evaluation const& evaluation) {
  constexpr int first_stored = 5161;
  constexpr int last_stored = 5390;
  for (auto const& setting : evaluation.settings) {
    if (setting.index < first_stored || setting.index > last_stored) continue;
    return refusal(
        setting.span, "origin-by-parameter",
        fmt::format("setting #{} would change a stored position or origin of the control", setting.index),
        "use G10 L2 for a work offset");
  }
  return std::nullopt;
}

void apply(std::vector<ParameterSetting> const& settings, Parameters& parameters) {
  for (ParameterSetting const& setting : settings) {
    if (setting.lost)
      parameters.lose(setting.index != 0 ? std::to_string(setting.index) : setting.name);
    else if (setting.index != 0)
      setting.known ? parameters.set(setting.index, setting.value) : parameters.forget(setting.index);
    else
      setting.known ? parameters.set(setting.name, setting.value) : parameters.forget(setting.name);
  }
}

void lose_settings(std::string_view line, Parameters& parameters) {
  for (std::size_t at = line.find('#'); at != std::string_view::npos; at = line.find('#', at + 1)) {
    std::string name;
    for (++at; at < line.size() && line[at] != '=' && line[at] != '#'; ++at)
      if (std::isalnum(static_cast<unsigned char>(line[at])) || line[at] == '_')
        name += static_cast<char>(std::tolower(static_cast<unsigned char>(line[at])));
      else if (std::string_view(" \t<>").find(line[at]) == std::string_view::npos)
        break;
    if (at < line.size() && line[at] == '=' && !name.empty()) parameters.lose(name);
    if (at < line.size() && line[at] == '#') --at;
  }
}

} // namespace restep::interpret
