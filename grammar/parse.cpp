// The full tier: one parse per line, so that a broken line costs nothing but itself.
#include "grammar/parse.hpp"

#include "grammar/block.hpp"
#include "grammar/decimal.hpp"
#include "grammar/diagnose.hpp"
#include "grammar/keyword.hpp"

#include <fmt/format.h>

#include <optional>
#include <string>

namespace restep::grammar {

namespace {

// The grammar calls itself for every bracket and every "#"; what no program needs must not exhaust the stack.
constexpr int deepest_nesting = 64;
constexpr int longest_indirection = 8;
// More than this is no block, only comments and blanks may run on.
constexpr std::size_t longest_block = std::size_t{1} << 20;

/// Refuses, before the grammar sees it, what would cost it too much.
std::optional<ParseError> too_much(std::string_view line) {
  int depth = 0;
  int indirection = 0;
  bool words = false;
  for (std::size_t at = 0; at < line.size(); ++at) {
    char const c = line[at];
    if (is_blank(c)) continue;
    if (c == ';') break;
    if (c == '(') {
      at = line.find(')', at);
      if (at == std::string_view::npos) break;
      continue;
    }
    words = true;
    indirection = c == '#' ? indirection + 1 : 0;
    if (c == '[') ++depth;
    if (c == ']') --depth;
    if (depth > deepest_nesting)
      return error_at(at, 1, "nesting-too-deep",
                      fmt::format("brackets are nested more than {} deep", deepest_nesting),
                      "work the value out in steps, with parameters");
    if (indirection > longest_indirection)
      return error_at(at, 1, "nesting-too-deep",
                      fmt::format("more than {} '#' follow each other", longest_indirection), "");
  }
  if (words && line.size() > longest_block)
    return error_at(0, 1, "line-too-long", fmt::format("a block of {} characters is no block", line.size()),
                    "the line ends of the file may be lost");
  return std::nullopt;
}

/// "X1.5E-05" reads as two words, X and E. It was a number with an exponent.
std::optional<ParseError> exponent(std::string_view line, ast::Block const& block) {
  for (ast::Item const& item : block.items) {
    auto const* const word = boost::get<ast::Word>(&item.get());
    if (word == nullptr || word->letter != 'E' || word->span.begin == 0) continue;
    auto const* const number = boost::get<ast::Number>(&word->value.get());
    char const previous = line[word->span.begin - 1];
    if (number == nullptr || number->decimal.point || !(is_digit(previous) || previous == '.')) continue;
    return error_at(word->span.begin, word->span.end - word->span.begin, "exponent",
                    "a number has no exponent in this language",
                    "write the number out with its decimals; if an E word is meant, put a blank before it");
  }
  return std::nullopt;
}

} // namespace

tl::expected<ast::Block, ParseError> parse_block(std::string_view line) {
  if (auto error = too_much(line)) return tl::unexpected(std::move(*error));
  char const* const begin = line.data();
  char const* const end = begin + line.size();
  char const* at = begin;
  LineStart start{begin};
  ast::Block node;
  try {
    if (!x3::phrase_parse(at, end, x3::with<line_start_tag>(start)[block], x3::ascii::blank, node) ||
        at != end)
      return tl::unexpected(diagnose(line, static_cast<std::size_t>(at - begin), "eoi"));
  } catch (x3::expectation_failure<char const*> const& failure) {
    return tl::unexpected(diagnose(line, static_cast<std::size_t>(failure.where() - begin), failure.which()));
  }
  if (auto error = exponent(line, node)) return tl::unexpected(std::move(*error));
  bool const holds_something = !node.items.empty() || node.number || node.deleted;
  if (node.kind != LineKind::percent) node.kind = holds_something ? LineKind::block : LineKind::blank;
  return node;
}

} // namespace restep::grammar
