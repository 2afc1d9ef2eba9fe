#pragma once

#include "text/place.hpp"

#include <boost/spirit/home/x3.hpp>

#include <cstdint>

/// What every rule of the full grammar is parsed with. Blanks are skipped everywhere, inside numbers and
/// words too, as the language wants it (NISTIR 6556, 3.3); comments are read by a component that skips
/// nothing.
namespace restep::grammar {

namespace x3 = boost::spirit::x3;

struct LineStart {
  char const* begin;
};
struct line_start_tag;

using iterator_type = char const*;
using skipper_type = x3::ascii::blank_type;
using context_type = x3::context<line_start_tag, LineStart, x3::phrase_parse_context<skipper_type>::type>;

template <typename Context>
text::Span span_of(char const* first, char const* last, Context const& context) {
  char const* const begin = x3::get<line_start_tag>(context).begin;
  return {static_cast<std::uint32_t>(first - begin), static_cast<std::uint32_t>(last - begin)};
}

// X3 takes a struct of one member for the member itself; the span, overwritten on success, makes it two.
inline auto const no_span = x3::attr(text::Span{});

/// Gives a node its span once its rule has matched.
struct StoreSpan {
  template <typename Iterator, typename Node, typename Context>
  void on_success(Iterator const& first, Iterator const& last, Node& node, Context const& context) {
    node.span = span_of(first, last, context);
  }
};

} // namespace restep::grammar
