// The tier above the hot one: whole runs of lines that hold axis words and hardly anything else. It must
// agree with the others on every line it takes, and it ends before the first that it is not sure of.
#include "grammar/cuts.hpp"

#include "grammar/decimal.hpp"
#include "grammar/line_shape.hpp"
#include "grammar/plain_components.hpp"

namespace restep::grammar {

namespace {

/// The line in work; its numbers go straight into the columns.
struct CutTarget {
  char const* text;
  CutRules const& rules;
  CutLines& lines;
  LineShape& shape;
  char const* line = nullptr;
  unsigned named = 0; ///< bit 0 X, 1 Y, 2 Z
  bool code = false;
  bool feed = false;

  std::size_t place(char const* at) const { return static_cast<std::size_t>(at - line); }
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
    target.shape.number(axis, target.place(first + 1), target.place(end), number);
    first = end;
    return true;
  }
};
constexpr AxisWordParser axis_word{};

struct BlockNumberParser : PlainComponent<BlockNumberParser> {
  template <typename Iterator, typename Context, typename RuleContext, typename Attribute>
  bool parse(Iterator& first, Iterator const& last, Context const& context, RuleContext const&,
             Attribute&) const {
    constexpr std::ptrdiff_t most_digits = 9; // far within the range of a Decimal
    if (first == last || *first != 'N') return false;
    Iterator const digits = first + 1;
    Iterator at = digits;
    while (at != last && is_digit(*at))
      ++at;
    if (at == digits || at - digits > most_digits || at == last || *at == '.') return false;
    CutTarget& target = x3::get<cut_target_tag>(context);
    target.shape.any_digits(target.place(digits), target.place(at));
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
    CutTarget& target = x3::get<cut_target_tag>(context);
    Decimal number;
    Iterator const end = scan_decimal(target.text, first + 1, last, number);
    if (end == nullptr || number.scaled != target.rules.feed) return false;
    target.feed = true;
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
  lines.names_code = lines.names_feed = false;
  char const* const begin = text.data();
  char const* const end = begin + text.size();
  char const* done = begin;
  LineShape shape;
  CutTarget target{begin, rules, lines, shape};
  auto const line = x3::with<cut_target_tag>(target)[one_line];
  auto const take_line = [&](char const* behind, char const* next) {
    lines.lines[lines.size++] = {static_cast<std::uint32_t>(done - begin),
                                 static_cast<std::uint32_t>(behind - begin)};
    done = next;
  };
  while (lines.size < CutLines::most) {
    for (auto& column : lines.value)
      column[lines.size + 1] = column[lines.size];
    if (shape.fits(done, end)) {
      shape.read(done,
                 [&](std::size_t axis, std::int64_t scaled) { lines.value[axis][lines.size + 1] = scaled; });
      char const* const next = done + shape.length();
      take_line(next - shape.line_end(), next);
      continue;
    }
    shape.begin();
    target.line = done;
    target.named = 0;
    target.code = target.feed = false;
    char const* at = done;
    if (!x3::parse(at, end, line)) break;
    char const* const behind = at;
    if (at != end && *at == '\r') ++at;
    if (at == end || *at != '\n') break;
    char const* const next = at + 1;
    shape.end({done, next}, static_cast<std::size_t>(next - behind));
    lines.names_code = lines.names_code || target.code;
    lines.names_feed = lines.names_feed || target.feed;
    take_line(behind, next);
  }
  return static_cast<std::size_t>(done - begin);
}

} // namespace restep::grammar
