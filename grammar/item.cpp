// word | setting | comment | flow: gcode.ebnf, "items".
#include "grammar/item.hpp"

#include "grammar/ast_adapted.hpp"
#include "grammar/components.hpp"
#include "grammar/expression.hpp"
#include "grammar/keyword.hpp"

namespace restep::grammar {

namespace {

using ast::OKeyword;
using KeywordName = std::pair<std::string_view, OKeyword>;

constexpr auto o_keyword_name = keywords<OKeyword, 15>(
    {KeywordName{"SUB", OKeyword::sub}, KeywordName{"ENDSUB", OKeyword::endsub},
     KeywordName{"CALL", OKeyword::call}, KeywordName{"RETURN", OKeyword::return_},
     KeywordName{"WHILE", OKeyword::while_}, KeywordName{"ENDWHILE", OKeyword::endwhile},
     KeywordName{"DO", OKeyword::do_}, KeywordName{"IF", OKeyword::if_},
     KeywordName{"ELSEIF", OKeyword::elseif}, KeywordName{"ELSE", OKeyword::else_},
     KeywordName{"ENDIF", OKeyword::endif}, KeywordName{"REPEAT", OKeyword::repeat},
     KeywordName{"ENDREPEAT", OKeyword::endrepeat}, KeywordName{"BREAK", OKeyword::break_},
     KeywordName{"CONTINUE", OKeyword::continue_}});

struct other_item_class;
struct simple_word_class : StoreSpan {};
struct word_class : StoreSpan {};
struct program_number_class : StoreSpan {};
struct setting_class : StoreSpan {};
struct conditional_class : StoreSpan {};
struct while_class : StoreSpan {};
struct loop_class : StoreSpan {};
struct goto_class : StoreSpan {};
struct named_o_word_class : StoreSpan {};
struct numbered_o_word_class : StoreSpan {};
struct label_name_class : StoreSpan {};

x3::rule<other_item_class, ast::Item> const other_item = "a word";
x3::rule<simple_word_class, ast::Word> const simple_word = "a word";
x3::rule<word_class, ast::Word> const word = "a word";
x3::rule<program_number_class, ast::Word> const program_number = "a program number";
x3::rule<setting_class, ast::Setting> const setting = "a setting";
x3::rule<conditional_class, ast::Conditional> const conditional = "IF";
x3::rule<while_class, ast::While> const while_loop = "WHILE";
x3::rule<loop_class, ast::Loop> const loop = "DO or END";
x3::rule<goto_class, ast::Goto> const go_to = "GOTO";
x3::rule<named_o_word_class, ast::OWord> const named_o_word = "an O word";
x3::rule<numbered_o_word_class, ast::OWord> const numbered_o_word = "an O word";
x3::rule<label_name_class, ast::NamedParameter> const label_name = "a name";
x3::rule<struct label_text_class, std::string> const label_text = "a name and '>'";
x3::rule<struct o_keyword_class, OKeyword> const o_keyword = "sub, call, while, if or the like";
x3::rule<struct consequence_class, ast::Consequence> const consequence = "GOTO or THEN";
x3::rule<struct then_setting_class, ast::Setting> const then_setting = "THEN";
x3::rule<struct equals_class> const equals = "'='";
x3::rule<struct do_class> const do_mark = "DO";
x3::rule<struct comment_end_class, ast::Comment> const comment_end = "')'";

auto const equals_def = x3::lit('=');
auto const setting_def = &x3::lit('#') > parameter > equals > set_value;

auto const go_to_def = keyword("GOTO") > value > no_span;
auto const then_setting_def = keyword("THEN") > setting;
auto const consequence_def = go_to | then_setting;
auto const conditional_def = keyword("IF") > bracket > consequence;
auto const do_mark_def = keyword("DO");
auto const while_loop_def = keyword("WHILE") > bracket > do_mark > value;
auto const loop_def = (keyword("DO") >> x3::attr(ast::LoopPart::begin) |
                       keyword("END") >> x3::attr(ast::LoopPart::end)) > value;

// Nearly every item is a letter and a number: tried first, for an alternative costs the making of its tree.
auto const simple_word_def = word_letter >> spaced_number;
auto const word_def = word_letter > value;

auto const o_letter = x3::omit[x3::char_("oO")];
auto const label_text_def = name_text >> '>';
auto const label_name_def = x3::lit('<') > label_text > no_span;
auto const named_o_word_def = (o_letter >> label_name) > o_keyword > *bracket;
auto const numbered_o_word_def = (o_letter >> value >> o_keyword) > *bracket;
auto const program_number_def = (x3::omit[x3::char_("oO:")] >> x3::attr('O')) > value;
auto const o_item_def = named_o_word | numbered_o_word | program_number;

auto const o_keyword_def = o_keyword_name;

auto const comment_end_def = comment_text;
auto const comment_def = &x3::char_("(;") > comment_end;

auto const not_first_only = !x3::char_("oO:");
auto const other_item_def =
    comment | setting | conditional | while_loop | loop | go_to | (not_first_only >> word);
auto const item_def = (not_first_only >> simple_word) | (!x3::eoi >> other_item);

BOOST_SPIRIT_DEFINE(equals, setting, go_to, then_setting, consequence, conditional, do_mark, while_loop, loop,
                    simple_word, word, other_item, label_text, label_name, o_keyword, named_o_word,
                    numbered_o_word, program_number, comment_end)

} // namespace

BOOST_SPIRIT_DEFINE(item, o_item, comment)

BOOST_SPIRIT_INSTANTIATE(item_type, iterator_type, context_type)
BOOST_SPIRIT_INSTANTIATE(o_item_type, iterator_type, context_type)
BOOST_SPIRIT_INSTANTIATE(comment_type, iterator_type, context_type)

} // namespace restep::grammar
