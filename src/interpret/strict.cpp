#include "interpret/strict.hpp"

#include "interpret/arithmetic.hpp"

#include <boost/variant/apply_visitor.hpp>
#include <boost/variant/get.hpp>
#include <fmt/format.h>

namespace restep::interpret {

namespace {

namespace ast = grammar::ast;
using grammar::ParseError;

/// Looks through the values of a block.
class Search {
public:
  explicit Search(std::string_view line)
      : line_(line) {}

  std::optional<ParseError> found;

  void operator()(ast::Operand const& operand) { boost::apply_visitor(*this, operand.get()); }
  void operator()(ast::Number const&) {}
  void operator()(ast::NamedParameter const& parameter) {
    refuse(parameter.span, fmt::format("RS274/NGC has no named parameters (#<{}>)", parameter.name),
           "use one of #1 to #5399");
  }
  void operator()(ast::Parameter const& parameter) { (*this)(parameter.index); }
  void operator()(ast::Call const& call) { (*this)(call.argument); }
  void operator()(ast::ArcTangent const& node) {
    (*this)(node.y);
    (*this)(node.x);
  }
  void operator()(ast::Expression const& expression) {
    char const begin = line_[expression.span.begin];
    // The grammar reads a sign before a value as a bracket of its own.
    if (expression.bracketed && (begin == '-' || begin == '+'))
      refuse(expression.span, "in RS274/NGC a sign belongs only to a number written out",
             "write 0 minus the value, as in [0-#1]");
    (*this)(expression.first);
    for (ast::Operation const& operation : expression.rest) {
      if (is_comparison(operation.op))
        refuse(operation.span, "RS274/NGC has no comparisons", "post the program with the values worked out");
      (*this)(operation.operand);
    }
  }
  void operator()(ast::Word const& word) { (*this)(word.value); }
  void operator()(ast::Setting const& setting) {
    (*this)(setting.target);
    auto const* const sum = boost::get<ast::x3::forward_ast<ast::Expression>>(&setting.value.get());
    if (sum != nullptr && !sum->get().bracketed)
      refuse(sum->get().span, "in RS274/NGC operators stand only in square brackets",
             "put the value in square brackets");
    (*this)(setting.value);
  }
  void operator()(ast::Comment const&) {}
  void operator()(ast::Conditional const&) {}
  void operator()(ast::While const&) {}
  void operator()(ast::Loop const&) {}
  void operator()(ast::Goto const&) {}
  void operator()(ast::OWord const&) {}

private:
  std::string_view line_;

  void refuse(text::Span span, std::string message, std::string hint) {
    if (!found) found = ParseError{span, "not-in-standard", std::move(message), std::move(hint)};
  }
};

} // namespace

std::optional<ParseError> beyond_standard(ast::Block const& block, std::string_view line) {
  if (block.delete_switch != 0)
    return ParseError{
        {0, static_cast<std::uint32_t>(line.find(static_cast<char>('0' + block.delete_switch)) + 1)},
        "block-delete-number",
        "RS274/NGC has one block delete switch, without a number",
        "write '/' alone"};
  Search search(line);
  for (ast::Item const& item : block.items)
    boost::apply_visitor(search, item.get());
  return std::move(search.found);
}

} // namespace restep::interpret
