// block = ["/" [digit]] ["N" number] {comment} [o-item] {item}, or a "%" line: gcode.ebnf, "blocks".
#include "grammar/block.hpp"

#include "grammar/ast_adapted.hpp"
#include "grammar/components.hpp"
#include "grammar/item.hpp"

namespace restep::grammar {

namespace {

struct numbering_class : StoreSpan {};

x3::rule<struct line_number_class, std::int64_t> const line_number = "a line number";
x3::rule<numbering_class, ast::LineNumber> const numbering = "N";
x3::rule<struct percent_end_class> const percent_end = "the end of the '%' line";

auto const set_percent = [](auto& context) { x3::_val(context).kind = LineKind::percent; };
auto const set_deleted = [](auto& context) { x3::_val(context).deleted = true; };
auto const set_switch = [](auto& context) {
  x3::_val(context).delete_switch = static_cast<std::uint8_t>(x3::_attr(context) - '0');
};
auto const set_number = [](auto& context) { x3::_val(context).number = x3::_attr(context); };
auto const add_item = [](auto& context) {
  auto& items = x3::_val(context).items;
  if (items.empty()) items.reserve(8);
  items.emplace_back(std::move(x3::_attr(context)));
};

auto const numbering_def = x3::omit[x3::char_("nN")] > line_number > no_span;
auto const line_number_def = line_number_digits;
auto const percent_end_def = x3::eoi;

auto const percent_line = x3::lit('%')[set_percent] > *comment[add_item] > percent_end;
auto const block_delete = x3::lit('/')[set_deleted] >> -x3::char_('1', '9')[set_switch];
auto const plain_line = -block_delete >> -numbering[set_number] >> *comment[add_item] >>
                        -(&x3::char_("oO:") >> o_item)[add_item] >> *item[add_item];

auto const block_def = percent_line | (plain_line > x3::eoi);

BOOST_SPIRIT_DEFINE(numbering, line_number, percent_end)

} // namespace

BOOST_SPIRIT_DEFINE(block)

BOOST_SPIRIT_INSTANTIATE(block_type, iterator_type, context_type)

} // namespace restep::grammar
