#pragma once

#include "grammar/ast.hpp"
#include "grammar/config.hpp"
#include "grammar/decimal.hpp"
#include "grammar/keyword.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <limits>
#include <string>
#include <system_error>
#include <utility>

/// The components of the full grammar that are easier said in C++ than in rules.
namespace restep::grammar {

/// A number that may have blanks inside. One too large for a Decimal keeps its value as a double.
struct SpacedNumberParser : x3::parser<SpacedNumberParser> {
  using attribute_type = ast::Number;
  static bool const has_attribute = true;

  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute& attribute) const {
    Iterator at = first;
    x3::skip_over(at, last, context);
    if (Iterator const end = unbroken(at, last, context, attribute); end != nullptr) {
      first = end;
      return true;
    }
    Iterator const begin = at;
    std::string digits; // without blanks; short numbers do not allocate
    Iterator end = at;
    bool any_digit = false;
    bool any_point = false;
    bool split = false;
    for (; at != last; ++at) {
      if (is_blank(*at)) continue;
      bool const sign = (*at == '-' || *at == '+') && digits.empty();
      bool const point = *at == '.' && !any_point;
      if (!sign && !point && !is_digit(*at)) break;
      split = split || (is_digit(*at) && end != at && any_digit);
      any_digit = any_digit || is_digit(*at);
      any_point = any_point || point;
      digits += *at;
      end = at + 1;
    }
    if (!any_digit) return false;

    ast::Number number;
    char const* const text = digits.data();
    char const* const text_end = text + digits.size();
    number.fits = scan_decimal(text, text, text_end, number.decimal) == text_end;
    auto const read =
        std::from_chars(*text == '+' ? text + 1 : text, text_end, number.value, std::chars_format::fixed);
    // Left unset by the library: it must not count as the zero that stands there.
    if (read.ec == std::errc::result_out_of_range && !number.fits)
      number.value = std::numeric_limits<double>::infinity();
    number.split = split;
    number.span = span_of(begin, end, context);
    first = end;
    x3::traits::move_to(number, attribute);
    return true;
  }

private:
  /// The end of a number without blanks, as nearly all are; nullptr when it is not certain that it is one.
  template <typename Context, typename Attribute>
  static char const* unbroken(char const* at, char const* last, Context const& context,
                              Attribute& attribute) {
    // Up to here a double holds every integer, and the division below rounds as a reader of the digits would.
    constexpr std::int64_t exact = std::int64_t{1} << 53;
    ast::Number number;
    char const* const end = scan_decimal(at, at, last, number.decimal);
    if (end == nullptr || number.decimal.decimals > 9 || number.decimal.scaled > exact ||
        number.decimal.scaled < -exact)
      return nullptr;
    char const* next = end;
    while (next != last && is_blank(*next))
      ++next;
    if (next != last && (is_digit(*next) || *next == '.')) return nullptr;
    number.value = number.decimal.value();
    if (number.decimal.scaled == 0 && *at == '-') number.value = -0.0;
    number.fits = true;
    number.span = span_of(at, end, context);
    x3::traits::move_to(number, attribute);
    return end;
  }
};
inline constexpr SpacedNumberParser spaced_number{};

/// The name between "<" and ">": lower case, blanks left out.
struct NameParser : x3::parser<NameParser> {
  using attribute_type = std::string;
  static bool const has_attribute = true;

  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const&, RuleContext const&,
             Attribute& attribute) const {
    std::string name;
    Iterator at = first;
    for (; at != last && *at != '>'; ++at) {
      if (is_blank(*at)) continue;
      if (*at == '<' || *at == '(' || *at == ';' || static_cast<unsigned char>(*at) < 0x20) return false;
      name += *at >= 'A' && *at <= 'Z' ? static_cast<char>(*at - 'A' + 'a') : *at;
    }
    if (at == last || name.empty()) return false;
    first = at;
    x3::traits::move_to(std::move(name), attribute);
    return true;
  }
};
inline constexpr NameParser name_text{};

/// "( ... )" up to the first ")", or ";" up to the end of the line. Fails when no ")" follows.
struct CommentParser : x3::parser<CommentParser> {
  using attribute_type = ast::Comment;
  static bool const has_attribute = true;

  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute& attribute) const {
    Iterator at = first;
    x3::skip_over(at, last, context);
    if (at == last || (*at != '(' && *at != ';')) return false;
    ast::Comment node;
    Iterator const text = at + 1;
    Iterator text_end = last;
    Iterator end = last;
    if (*at == '(') {
      text_end = std::find(text, last, ')');
      if (text_end == last) return false;
      end = text_end + 1;
      char const* const letters = match_keyword(text, text_end, "MSG");
      node.message = letters != nullptr && match_keyword(letters, text_end, ",") != nullptr;
    } else {
      node.style = CommentStyle::semicolon;
    }
    node.text = span_of(text, text_end, context);
    node.span = span_of(at, end, context);
    first = end;
    x3::traits::move_to(node, attribute);
    return true;
  }
};
inline constexpr CommentParser comment_text{};

/// Any letter but N, in upper case.
struct WordLetterParser : x3::parser<WordLetterParser> {
  using attribute_type = char;
  static bool const has_attribute = true;

  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute& attribute) const {
    Iterator at = first;
    x3::skip_over(at, last, context);
    if (at == last) return false;
    char const letter = upper(*at);
    if (letter < 'A' || letter > 'Z' || letter == 'N') return false;
    first = at + 1;
    x3::traits::move_to(char(letter), attribute);
    return true;
  }
};
inline constexpr WordLetterParser word_letter{};

/// The digits of a line number, blanks allowed; no sign, no point, as many digits as a 64-bit integer holds.
struct LineNumberDigitsParser : x3::parser<LineNumberDigitsParser> {
  using attribute_type = std::int64_t;
  static bool const has_attribute = true;

  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const&, RuleContext const&,
             Attribute& attribute) const {
    std::int64_t number = 0;
    Iterator end = first;
    bool any = false;
    for (Iterator at = first; at != last && (is_blank(*at) || is_digit(*at)); ++at) {
      if (is_blank(*at)) continue;
      if (number > 99'999'999'999'999) return false;
      number = number * 10 + (*at - '0');
      any = true;
      end = at + 1;
    }
    if (!any) return false;
    for (Iterator at = end; at != last; ++at) {
      if (*at == '.') return false;
      if (!is_blank(*at)) break;
    }
    first = end;
    x3::traits::move_to(std::int64_t(number), attribute);
    return true;
  }
};
inline constexpr LineNumberDigitsParser line_number_digits{};

} // namespace restep::grammar
