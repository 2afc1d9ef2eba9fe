#pragma once

#include <boost/spirit/home/x3.hpp>

/// What the two tiers above the full grammar have in common.
namespace restep::grammar {

namespace x3 = boost::spirit::x3;

/// A component that gives no attribute: it writes what it finds where its context says.
template <class Derived>
struct PlainComponent : x3::parser<Derived> {
  using attribute_type = x3::unused_type;
  [[maybe_unused]] static bool const has_attribute = false;
};

/// Blanks and tabs, or none.
struct BlanksParser : PlainComponent<BlanksParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const&, RuleContext const&, Attribute&) const {
    while (first != last && (*first == ' ' || *first == '\t'))
      ++first;
    return true;
  }
};
inline constexpr BlanksParser blanks{};

} // namespace restep::grammar
