// The tier above the hot one: whole runs of lines that hold axis words and hardly anything else. It must
// agree with the others on every line it takes, and it ends before the first that it is not sure of.
#include "grammar/cuts.hpp"

#include "grammar/decimal.hpp"
#include "grammar/plain_components.hpp"

namespace restep::grammar {

namespace {

/// The line in work; its numbers go straight into the columns.
struct CutTarget {
  char const* text;
  CutRules const& rules;
  CutLines& lines;
  unsigned named = 0; ///< bit 0 X, 1 Y, 2 Z
  bool code = false;
};
struct cut_target_tag;

/// X, Y or Z and its number. An axis twice is an error, which the other tiers make.
struct AxisWordParser : PlainComponent<AxisWordParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute&) const {
    if (first == last) return false;
    unsigned const axis = static_cast<unsigned char>(*first) - unsigned{'X'};
    if (axis > 2) return false;
    CutTarget& target = x3::get<cut_target_tag>(context);
    Decimal number;
    Iterator const end = scan_decimal(target.text, first + 1, last, number);
    if (end == nullptr || (target.named >> axis & 1U) || (target.rules.needs_points && !number.point))
      return false;
    target.named |= 1U << axis;
    target.lines.value[axis][target.lines.size + 1] = number.scaled;
    first = end;
    return true;
  }
};
constexpr AxisWordParser axis_word{};

struct BlockNumberParser : PlainComponent<BlockNumberParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const&, RuleContext const&, Attribute&) const {
    constexpr std::ptrdiff_t most_digits = 9; // far within the range of a Decimal
    if (first == last || *first != 'N') return false;
    Iterator const digits = first + 1;
    Iterator at = digits;
    while (at != last && is_digit(*at))
      ++at;
    if (at == digits || at - digits > most_digits || at == last || *at == '.') return false;
    first = at;
    return true;
  }
};
constexpr BlockNumberParser block_number{};

/// G1 or G01, which is in force.
struct CodeParser : PlainComponent<CodeParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute&) const {
    if (last - first < 4 || *first != 'G') return false;
    Iterator const at = first + (first[1] == '0' ? 2 : 1);
    if (*at != '1' || is_digit(at[1]) || at[1] == '.') return false;
    x3::get<cut_target_tag>(context).code = true;
    first = at + 1;
    return true;
  }
};
constexpr CodeParser code{};

/// The F in force, said again.
struct FeedParser : PlainComponent<FeedParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute&) const {
    if (first == last || *first != 'F') return false;
    CutTarget const& target = x3::get<cut_target_tag>(context);
    Decimal number;
    Iterator const end = scan_decimal(target.text, first + 1, last, number);
    if (end == nullptr || number.scaled != target.rules.feed) return false;
    first = end;
    return true;
  }
};
constexpr FeedParser feed{};

auto const one_line = -(block_number >> blanks) >> -(code >> blanks) >> +(axis_word >> blanks) >>
                      -(feed >> blanks);

} // namespace

std::size_t parse_cuts(std::string_view text, CutRules const& rules, CutLines& lines) {
  lines.size = 0;
  lines.names_code = false;
  char const* const begin = text.data();
  char const* const end = begin + text.size();
  char const* done = begin;
  CutTarget target{begin, rules, lines};
  auto const line = x3::with<cut_target_tag>(target)[one_line];
  while (lines.size < CutLines::most) {
    for (auto& column : lines.value)
      column[lines.size + 1] = column[lines.size];
    target.named = 0;
    target.code = false;
    char const* at = done;
    if (!x3::parse(at, end, line)) break;
    char const* const behind = at;
    if (at != end && *at == '\r') ++at;
    if (at == end || *at != '\n') break;
    lines.lines[lines.size++] = {static_cast<std::uint32_t>(done - begin),
                                 static_cast<std::uint32_t>(behind - begin)};
    lines.names_code = lines.names_code || target.code;
    done = at + 1;
  }
  return static_cast<std::size_t>(done - begin);
}

} // namespace restep::grammar
