// The hot tier: words and remarks and nothing else. It must agree with the full grammar on every line it
// takes, and it declines whatever it is not sure of.
#include "grammar/decimal.hpp"
#include "grammar/parse.hpp"
#include "grammar/plain_components.hpp"

#include <algorithm>

namespace restep::grammar {

namespace {

struct Target {
  char const* begin;
  WordBlock& block;

  std::uint32_t offset(char const* at) const { return static_cast<std::uint32_t>(at - begin); }
};
struct target_tag;

/// A letter and its number go straight into the block's next free word.
struct PlainWordParser : PlainComponent<PlainWordParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const& rule,
             Attribute& unused) const {
    if (first == last) return false;
    Target& target = x3::get<target_tag>(context);
    WordBlock& block = target.block;
    auto const letter = static_cast<char>(*first & ~0x20);
    if (static_cast<unsigned char>(letter - 'A') >= 26 || letter == 'N' || block.size == WordBlock::capacity)
      return false;
    // An O word stands first, or it is a letter O typed for a zero.
    if (letter == 'O' && block.size != 0) return false;
    // "X1E3" may be meant as an exponent: for the full grammar to say.
    if (letter == 'E' && first != target.begin && (is_digit(first[-1]) || first[-1] == '.')) return false;
    Iterator at = first + 1;
    blanks.parse(at, last, context, rule, unused);
    Word& word = block.words[block.size];
    at = scan_decimal(target.begin, at, last, word.value);
    if (at == nullptr) return false;
    word.letter = letter;
    word.span = {target.offset(first), target.offset(at)};
    ++block.size;
    first = at;
    return true;
  }
};
constexpr PlainWordParser plain_word{};

/// "( ... )" up to the first ")", or ";" up to the end of the line.
struct PlainCommentParser : PlainComponent<PlainCommentParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute&) const {
    if (first == last || (*first != '(' && *first != ';')) return false;
    bool const brackets = *first == '(';
    Iterator const begin = first + 1;
    Iterator const end = brackets ? std::find(begin, last, ')') : last;
    if (brackets && end == last) return false;
    Target& target = x3::get<target_tag>(context);
    Iterator const behind = brackets ? end + 1 : end;
    target.block.comments.push_back({{begin, static_cast<std::size_t>(end - begin)},
                                     brackets ? CommentStyle::parentheses : CommentStyle::semicolon,
                                     {target.offset(first), target.offset(behind)}});
    first = behind;
    return true;
  }
};
constexpr PlainCommentParser plain_comment{};

struct LineNumberParser : PlainComponent<LineNumberParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const& rule,
             Attribute& unused) const {
    if (first == last || (*first != 'N' && *first != 'n')) return false;
    Target& target = x3::get<target_tag>(context);
    Iterator at = first + 1;
    blanks.parse(at, last, context, rule, unused);
    Decimal number;
    if (at == last || !is_digit(*at) || !decimal.parse(at, last, context, rule, number) || number.point)
      return false;
    target.block.has_number = true;
    target.block.number = number.scaled / Decimal::one;
    target.block.number_span = {target.offset(first), target.offset(at)};
    first = at;
    return true;
  }
};
constexpr LineNumberParser plain_line_number{};

auto const mark_deleted = [](auto& context) { x3::get<target_tag>(context).block.deleted = true; };

auto const plain_block = blanks >> -(x3::lit('/')[mark_deleted] >> blanks) >> -plain_line_number >> blanks >>
                         *((plain_word | plain_comment) >> blanks) >> x3::eoi;

} // namespace

bool parse_plain(std::string_view line, WordBlock& block) {
  block.clear();
  constexpr std::size_t longest_line = std::size_t{1} << 16; // the full grammar judges what is that long
  if (line.size() > longest_line) return false;
  char const* at = line.data();
  char const* const end = at + line.size();
  Target target{at, block};
  if (!x3::parse(at, end, x3::with<target_tag>(target)[plain_block])) return false;
  bool const empty = block.size == 0 && !block.has_number && !block.deleted && block.comments.empty();
  block.kind = empty ? LineKind::blank : LineKind::block;
  return true;
}

} // namespace restep::grammar
