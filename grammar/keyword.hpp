#pragma once

#include "grammar/config.hpp"

#include <array>
#include <cstddef>
#include <string_view>
#include <utility>

namespace restep::grammar {

constexpr bool is_blank(char c) {
  return c == ' ' || c == '\t';
}

constexpr char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

constexpr bool is_letter(char c) {
  return upper(c) >= 'A' && upper(c) <= 'Z';
}

/// The end of `word` (upper case) at `at`, whatever the case and the blanks between its letters; nullptr when
/// it does not stand there.
inline char const* match_keyword(char const* at, char const* end, std::string_view word) {
  for (char const wanted : word) {
    while (at != end && is_blank(*at))
      ++at;
    if (at == end || upper(*at) != wanted) return nullptr;
    ++at;
  }
  return at;
}

/// One of several keywords; its attribute is the value beside the longest that matches.
template <typename Value, std::size_t Size>
struct KeywordsParser : x3::parser<KeywordsParser<Value, Size>> {
  using attribute_type = Value;
  static bool const has_attribute = true;
  using Table = std::array<std::pair<std::string_view, Value>, Size>;

  constexpr explicit KeywordsParser(Table const& entries)
      : table(entries) {}

  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute& attribute) const {
    Iterator at = first;
    x3::skip_over(at, last, context);
    std::pair<std::string_view, Value> const* best = nullptr;
    Iterator best_end = at;
    for (auto const& entry : table) {
      Iterator const end = match_keyword(at, last, entry.first);
      if (end == nullptr || (best != nullptr && best->first.size() >= entry.first.size())) continue;
      best = &entry;
      best_end = end;
    }
    if (best == nullptr) return false;
    first = best_end;
    x3::traits::move_to(Value(best->second), attribute);
    return true;
  }

  Table table;
};

template <typename Value, std::size_t Size>
constexpr KeywordsParser<Value, Size> keywords(std::pair<std::string_view, Value> const (&entries)[Size]) {
  return KeywordsParser<Value, Size>(std::to_array(entries));
}

/// One keyword, without an attribute.
struct KeywordParser : x3::parser<KeywordParser> {
  using attribute_type = x3::unused_type;
  static bool const has_attribute = false;

  constexpr explicit KeywordParser(std::string_view wanted)
      : word(wanted) {}

  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const&, RuleContext const&, Attribute&) const {
    Iterator const end = match_keyword(first, last, word);
    if (end == nullptr) return false;
    first = end;
    return true;
  }

  std::string_view word;
};

constexpr KeywordParser keyword(std::string_view word) {
  return KeywordParser(word);
}

} // namespace restep::grammar
