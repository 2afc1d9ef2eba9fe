#pragma once

#include "grammar/ast.hpp"
#include "grammar/parse.hpp"
#include "grammar/words.hpp"
#include "interpret/parameters.hpp"

#include <tl/expected.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace restep::interpret {

/// One parameter setting of a block, its value worked out. `index` is 0 for a named parameter.
struct ParameterSetting {
  int index = 0;
  std::string name;
  double value = 0;
  bool known = true; ///< false: the parameter has no known value afterwards (Unknowns::allowed)
  bool lost = false; ///< not known because of a refused block
  text::Span span;
};

/// The code of a refusal that is nothing but the consequence of another one: it is not reported.
inline constexpr std::string_view lost_parameter = "lost-parameter";

/// Whether a block may use parameters whose values are not known.
enum class Unknowns : std::uint8_t { refused, allowed };

/// What a block holds beside its words, in the order it stands there.
struct Evaluation {
  std::vector<ParameterSetting> settings;
  bool flow = false; ///< a jump, loop, condition or subprogram word: for whoever follows it, or refuses it
  /// Numbers with blanks among their digits ("X10 20"): the language reads one number, 1020; a person may
  /// have lost a letter.
  std::vector<text::Span> split_numbers;
  /// Words of the block whose values are not known, as indices into the WordBlock, and why for the first of
  /// them (Unknowns::allowed). Such a word stands in the block with the value 0.
  std::vector<std::uint8_t> unknown_words;
  std::optional<grammar::ParseError> unknown;
};

/// Turns the tree of a block into plain words: works out every expression and parameter (NISTIR 6556, 3.3.2).
/// `line` is the text the tree was made from; the comments in `out` point into it.
///
/// All values are read before any setting of the block takes effect; the settings are returned, not made:
/// the caller applies them when the block is executed, not when it is skipped (apply()). Expressions inside
/// flow words are not worked out. A value that is not a plain literal becomes a Decimal rounded to 1e-9, half
/// away from zero, with `point` true and `decimals` 0.
///
/// Refused, with the span at fault: a parameter that is not known or out of range, a division by zero, a
/// function outside its domain, a result that is not finite or beyond the range of a Decimal, a comparison
/// beside a logical operator without brackets (controls disagree on their order), and more words than a
/// WordBlock holds.
tl::expected<Evaluation, grammar::ParseError> evaluate(grammar::ast::Block const& block,
                                                       std::string_view line, Parameters const& parameters,
                                                       grammar::WordBlock& out,
                                                       Unknowns unknowns = Unknowns::refused);

/// The value of one operand or expression, by the same rules.
tl::expected<double, grammar::ParseError> evaluate(grammar::ast::Operand const& operand,
                                                   Parameters const& parameters);
tl::expected<double, grammar::ParseError> evaluate(grammar::ast::Expression const& expression,
                                                   Parameters const& parameters);

/// Why a setting of the block is refused: the numbers of stored positions and origins are the control's own,
/// and setting one would move the work.
std::optional<grammar::ParseError> own_by_control(Evaluation const& evaluation);

/// Makes the settings of a block, in order: when one parameter is set twice the last one wins.
void apply(std::vector<ParameterSetting> const& settings, Parameters& parameters);

/// Loses what a line that was refused would have set.
void lose_settings(std::string_view line, Parameters& parameters);

} // namespace restep::interpret
