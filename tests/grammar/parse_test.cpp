#include "grammar/parse.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <rapidcheck.h>
#include <string>

using namespace restep::grammar;
using restep::text::Span;

namespace {

ast::Block block_of(std::string const& line) {
  auto const block = parse_block(line);
  INFO(line);
  if (!block) FAIL(block.error().message);
  return *block;
}

template <typename Node>
Node as(ast::Item const& item) {
  auto const* const node = boost::get<Node>(&item.get());
  REQUIRE(node != nullptr);
  return *node;
}

template <typename Node>
Node operand_as(ast::Operand const& operand) {
  auto const* const node = boost::get<ast::x3::forward_ast<Node>>(&operand.get());
  REQUIRE(node != nullptr);
  return node->get();
}

ast::Number number_in(ast::Operand const& operand) {
  auto const* const node = boost::get<ast::Number>(&operand.get());
  REQUIRE(node != nullptr);
  return *node;
}

std::string text_of(std::string const& line, Span span) {
  return line.substr(span.begin, span.end - span.begin);
}

} // namespace

TEST_CASE("blanks mean nothing, not even inside a number or a keyword", "[grammar]") {
  // NISTIR 6556, 3.3: this line is G0 X0.1234 Y7.
  std::string const line = "g0x +0. 12 34y 7";
  ast::Block const block = block_of(line);
  REQUIRE(block.items.size() == 3);
  CHECK(as<ast::Word>(block.items[0]).letter == 'G');
  auto const x = as<ast::Word>(block.items[1]);
  CHECK(x.letter == 'X');
  CHECK(number_in(x.value).decimal == Decimal{123'400'000, 4, true});
  CHECK(number_in(x.value).split);
  CHECK(text_of(line, x.span) == "x +0. 12 34");
  CHECK(as<ast::Word>(block.items[2]).letter == 'Y');
  ast::Block const spaced = block_of("X s q r t [ 4 ]");
  CHECK(operand_as<ast::Call>(as<ast::Word>(spaced.items[0]).value).function == ast::Function::sqrt);
}

TEST_CASE("a number's own blanks do not make it split", "[grammar]") {
  CHECK_FALSE(number_in(as<ast::Word>(block_of("X - 1.5 Y2").items[0]).value).split);
}

TEST_CASE("block delete may name a switch", "[grammar]") {
  CHECK(block_of("/G1").deleted);
  CHECK(block_of("/G1").delete_switch == 0);
  CHECK(block_of("/3 N5 G1").delete_switch == 3);
  CHECK(block_of("/3 N5 G1").number->value == 5);
  CHECK_FALSE(block_of("G1").deleted);
}

TEST_CASE("a line number may be long and has a place", "[grammar]") {
  ast::Block const block = block_of("N 1234 567 G1");
  CHECK(block.number->value == 1234567);
  CHECK(block.number->span == Span{0, 10});
}

TEST_CASE("a percent line holds at most comments", "[grammar]") {
  CHECK(block_of("%").kind == LineKind::percent);
  CHECK(block_of(" % (clock bezel)").kind == LineKind::percent);
  CHECK(block_of("% ; end").kind == LineKind::percent);
}

TEST_CASE("a block is blank only when it holds nothing at all", "[grammar]") {
  CHECK(block_of("").kind == LineKind::blank);
  CHECK(block_of(" \t").kind == LineKind::blank);
  CHECK(block_of(";").kind == LineKind::block);
  CHECK(block_of("()").kind == LineKind::block);
}

TEST_CASE("comments keep their text, their marks and their order", "[grammar]") {
  std::string const line = "(first) G1 (MSG, look) ; rest (of it";
  ast::Block const block = block_of(line);
  REQUIRE(block.items.size() == 4);
  CHECK(text_of(line, as<ast::Comment>(block.items[0]).text) == "first");
  CHECK_FALSE(as<ast::Comment>(block.items[0]).message);
  CHECK(as<ast::Comment>(block.items[2]).message);
  CHECK(text_of(line, as<ast::Comment>(block.items[2]).span) == "(MSG, look)");
  CHECK(as<ast::Comment>(block.items[3]).style == CommentStyle::semicolon);
  CHECK(text_of(line, as<ast::Comment>(block.items[3]).text) == " rest (of it");
  // NISTIR 6556, 3.3.4 and appendix E.2: either case, blanks before each of the four, nothing else in front.
  CHECK(as<ast::Comment>(block_of("( m S g ,x)").items[0]).message);
  CHECK_FALSE(as<ast::Comment>(block_of("(-MSG,x)").items[0]).message);
  CHECK_FALSE(as<ast::Comment>(block_of("(MSG x)").items[0]).message);
}

TEST_CASE("a comment may hold any byte", "[grammar]") {
  std::string line = "(";
  for (int byte = 0; byte < 256; ++byte)
    if (byte != ')' && byte != '\n' && byte != '\r') line += static_cast<char>(byte);
  line += ") X1";
  CHECK(block_of(line).items.size() == 2);
}

TEST_CASE("a comment ends at the first closing parenthesis", "[grammar]") {
  std::string const line = "(yoke (left) X1";
  ast::Block const block = block_of(line);
  REQUIRE(block.items.size() == 2);
  CHECK(text_of(line, as<ast::Comment>(block.items[0]).text) == "yoke (left");
}

TEST_CASE("a program number is a word with the letter O", "[grammar]") {
  for (std::string const line : {"O1234 (bezel)", ":1234 (bezel)", "N1 (bezel) o1234"}) {
    ast::Block const block = block_of(line);
    REQUIRE(block.items.size() == 2);
    ast::Item const& item = line[0] == 'N' ? block.items[1] : block.items[0];
    CHECK(as<ast::Word>(item).letter == 'O');
    CHECK(number_in(as<ast::Word>(item).value).value == 1234);
  }
}

TEST_CASE("an O word keeps its label, keyword and arguments", "[grammar]") {
  auto const call = as<ast::OWord>(block_of("O<Bell Yoke> call [1] [#2+3]").items[0]);
  CHECK(boost::get<ast::NamedParameter>(call.label.get()).name == "bellyoke");
  CHECK(call.keyword == ast::OKeyword::call);
  CHECK(call.arguments.size() == 2);
  CHECK(as<ast::OWord>(block_of("o100 endsub").items[0]).keyword == ast::OKeyword::endsub);
  CHECK(as<ast::OWord>(block_of("o100 endwhile").items[0]).keyword == ast::OKeyword::endwhile);
  CHECK(as<ast::OWord>(block_of("o100 elseif [#1 LT 2]").items[0]).keyword == ast::OKeyword::elseif);
  CHECK(as<ast::OWord>(block_of("o[#1+1] sub").items[0]).keyword == ast::OKeyword::sub);
  CHECK(as<ast::OWord>(block_of("o#1 return [2]").items[0]).arguments.size() == 1);
}

TEST_CASE("conditions, loops and jumps are held as such", "[grammar]") {
  CHECK(boost::get<ast::Goto>(
      &as<ast::Conditional>(block_of("IF [#1 EQ 1] GOTO 10").items[0]).consequence.get()));
  CHECK(boost::get<ast::Setting>(
      &as<ast::Conditional>(block_of("if[#1ne1]then#2=3").items[0]).consequence.get()));
  CHECK(number_in(as<ast::While>(block_of("N5 WHILE [#1 LT 10] DO 1").items[0]).number).value == 1);
  CHECK(as<ast::Loop>(block_of("END 1").items[0]).part == ast::LoopPart::end);
  CHECK(as<ast::Loop>(block_of("DO 2").items[0]).part == ast::LoopPart::begin);
  CHECK(number_in(as<ast::Goto>(block_of("GOTO 120").items[0]).target).value == 120);
  CHECK(block_of("#1=0 WHILE [#1 LT 3] DO1").items.size() == 2);
}

TEST_CASE("the tighter operator is worked first and brackets are marked", "[grammar]") {
  ast::Block const block = block_of("X[1+2*3]");
  auto const sum = operand_as<ast::Expression>(as<ast::Word>(block.items[0]).value);
  CHECK(sum.bracketed);
  auto const level = operand_as<ast::Expression>(sum.first);
  REQUIRE(level.rest.size() == 1);
  CHECK_FALSE(level.bracketed);
  CHECK(level.rest[0].op == ast::Operator::add);
}

TEST_CASE("a number too large for a decimal keeps its value", "[grammar]") {
  auto const word = as<ast::Word>(block_of("X100000000000.5").items[0]);
  CHECK_FALSE(number_in(word.value).fits);
  CHECK(number_in(word.value).value == 100000000000.5);
}

TEST_CASE("a number beyond every double is infinite and not zero", "[grammar]") {
  auto const word = as<ast::Word>(block_of("X" + std::string(400, '9')).items[0]);
  CHECK_FALSE(number_in(word.value).fits);
  CHECK(std::isinf(number_in(word.value).value));
  // One that is merely long is what it says.
  auto const small = as<ast::Word>(block_of("X0." + std::string(400, '0') + "1").items[0]);
  CHECK(number_in(small.value).fits);
  CHECK(number_in(small.value).value == Approx(0).margin(1e-300));
}

TEST_CASE("brackets nest sixty-four deep and no deeper", "[grammar]") {
  auto const nested = [](int depth) {
    return "X" + std::string(static_cast<std::size_t>(depth), '[') + "1" +
           std::string(static_cast<std::size_t>(depth), ']');
  };
  CHECK(parse_block(nested(64)));
  auto const refused = parse_block(nested(65));
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == "nesting-too-deep");
  CHECK(refused.error().span == Span{65, 66});
  CHECK_FALSE(parse_block(nested(1'000'000)));
  CHECK_FALSE(parse_block("X" + std::string(1'000'000, '#') + "1"));
  CHECK_FALSE(parse_block("X" + std::string(1'000'000, '[')));
}

TEST_CASE("more than a mebibyte is read only as blanks and comments", "[grammar]") {
  std::size_t const much = (1u << 20) + 1;
  CHECK(parse_block("(" + std::string(much, ' ') + ")"));
  CHECK(parse_block(std::string(much, ' ')));
  CHECK(parse_block("; " + std::string(much, 'x')));
  auto const refused = parse_block("X1" + std::string(much, ' '));
  REQUIRE_FALSE(refused);
  CHECK(refused.error().message == "a block of 1048579 characters is no block");
}

TEST_CASE("whatever stands on a line, it is read or refused with a place on that line",
          "[grammar][property]") {
  CHECK(rc::check([](std::vector<std::uint8_t> const& picks, bool any_byte) {
    std::string line;
    static std::string_view const alphabet = "GXYNOE#[]()<>;%/=.+-*,: 0159 IFWHILEDOCALLSUBATANSINMODEQ\"_";
    for (std::uint8_t const pick : picks)
      line += any_byte ? static_cast<char>(pick) : alphabet[pick % alphabet.size()];
    auto const block = parse_block(line);
    if (block) return;
    RC_ASSERT(!block.error().message.empty());
    RC_ASSERT(!block.error().code.empty());
    RC_ASSERT(block.error().span.begin <= line.size());
    RC_ASSERT(block.error().span.begin < block.error().span.end);
    RC_ASSERT(block.error().span.end <= line.size() + 1);
  }));
}
