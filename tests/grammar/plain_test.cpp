#include "grammar/parse.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cstdint>
#include <rapidcheck.h>
#include <string>

using namespace restep::grammar;
using restep::text::Span;

namespace {

WordBlock plain(std::string const& line) {
  WordBlock block;
  INFO(line);
  REQUIRE(parse_plain(line, block));
  return block;
}

bool takes(std::string const& line) {
  WordBlock block;
  return parse_plain(line, block);
}

Decimal number(std::string const& text) {
  return plain("X" + text).words[0].value;
}

} // namespace

TEST_CASE("a plain block gives its words in order, with their places", "[grammar]") {
  WordBlock const block = plain("/ N120 G1x-1.5 Y 2\tF.5");
  CHECK(block.kind == LineKind::block);
  CHECK(block.deleted);
  REQUIRE(block.has_number);
  CHECK(block.number == 120);
  CHECK(block.number_span == Span{2, 6});
  REQUIRE(block.size == 4);
  CHECK(block.words[0].letter == 'G');
  CHECK(block.words[0].span == Span{7, 9});
  CHECK(block.words[1].letter == 'X');
  CHECK(block.words[1].value == Decimal{-1'500'000'000, 1, true});
  CHECK(block.words[1].span == Span{9, 14});
  CHECK(block.words[2].value == Decimal{2'000'000'000, 0, false});
  CHECK(block.words[2].span == Span{15, 18});
  CHECK(block.words[3].value == Decimal{500'000'000, 1, true});
}

TEST_CASE("a line of blanks is blank, a lone slash or line number is a block", "[grammar]") {
  CHECK(plain("").kind == LineKind::blank);
  CHECK(plain(" \t ").kind == LineKind::blank);
  CHECK(plain("/").kind == LineKind::block);
  CHECK(plain("N10").kind == LineKind::block);
}

TEST_CASE("a block that is used again keeps nothing of the line before", "[grammar]") {
  WordBlock block;
  REQUIRE(parse_plain("/N5 G1 X1", block));
  REQUIRE(parse_plain("Y2", block));
  CHECK_FALSE(block.deleted);
  CHECK_FALSE(block.has_number);
  REQUIRE(block.size == 1);
  CHECK(block.words[0].letter == 'Y');
}

TEST_CASE("numbers are read exactly as they are written", "[grammar]") {
  CHECK(number("5.") == Decimal{5'000'000'000, 0, true});
  CHECK(number(".5") == Decimal{500'000'000, 1, true});
  CHECK(number("-0") == Decimal{0, 0, false});
  CHECK(number("+01.50") == Decimal{1'500'000'000, 2, true});
  CHECK(number("0.000000001") == Decimal{1, 9, true});
  CHECK(number("12345678.12345678") == Decimal{12'345'678'123'456'780, 8, true});
  CHECK(number("9223372036.854775807") == Decimal{INT64_MAX, 9, true});
  CHECK(number("-9223372036.854775807") == Decimal{-INT64_MAX, 9, true});
  CHECK(number("000000000000000000000000000007") == Decimal{7'000'000'000, 0, false});
}

TEST_CASE("decimals behind the ninth round half away from zero", "[grammar]") {
  CHECK(number("0.1234567894").scaled == 123'456'789);
  CHECK(number("0.1234567895").scaled == 123'456'790);
  CHECK(number("-0.1234567895").scaled == -123'456'790);
  CHECK(number("0.12345678949999999999999999999").scaled == 123'456'789);
  CHECK(number("0.9999999995").scaled == 1'000'000'000);
  CHECK(number("0.1234567895").decimals == 10);
}

TEST_CASE("a number beyond the range of a decimal is declined and never wrapped", "[grammar]") {
  CHECK_FALSE(takes("X9223372036.854775808"));
  CHECK_FALSE(takes("X-9223372036.854775808"));
  CHECK_FALSE(takes("X9223372036.8547758075"));
  CHECK_FALSE(takes("X10000000000"));
  CHECK_FALSE(takes("X18446744074"));
  CHECK_FALSE(takes("X" + std::string(40, '9')));
}

TEST_CASE("remarks stand beside the words of a plain block, in their order", "[grammar]") {
  std::string const line =
      "N5 (first) G1 (the (second) X2 ; third (of them)"; // the remarks are views into it
  WordBlock const block = plain(line);
  CHECK(block.kind == LineKind::block);
  REQUIRE(block.size == 2);
  CHECK(block.words[1].span == Span{28, 30});
  REQUIRE(block.comments.size() == 3);
  CHECK(block.comments[0].text == "first");
  CHECK(block.comments[0].span == Span{3, 10});
  CHECK(block.comments[1].text == "the (second");
  CHECK(block.comments[1].style == CommentStyle::parentheses);
  CHECK(block.comments[2].text == " third (of them)");
  CHECK(block.comments[2].style == CommentStyle::semicolon);
}

TEST_CASE("a lone remark is a block", "[grammar]") {
  CHECK(plain("(c)").kind == LineKind::block);
  CHECK(plain(";").kind == LineKind::block);
}

TEST_CASE("whatever is not plain is declined", "[grammar]") {
  for (std::string const line :
       {"(c",     "G1 (", "X[1]",  "X#1",   "#1=2",   "%",     "O<a> call", "X1 2",  "X- 1",
        "X1.2.3", "X",    "1",     "G1 N5", "N1.5",   "N-1",   "N+1",       "/1 X1", "//",
        "X1/",    "MO6",  "X1 O5", "X1E5",  "X1.E-5", "X\x80", "X1\n",      "X--1",  "X.",
        "X-.",    "X1e3", "[1",    "@1",    "`1",     "{1",    "X1,5"}) {
    INFO(line);
    CHECK_FALSE(takes(line));
  }
}

TEST_CASE("a letter of the standard's alphabet and beyond is a word's letter", "[grammar]") {
  for (char letter = 'A'; letter <= 'Z'; ++letter) {
    if (letter == 'N') continue;
    INFO(letter);
    CHECK(plain(std::string(1, letter) + "1").words[0].letter == letter);
    CHECK(plain(std::string(1, static_cast<char>(letter + 32)) + "1").words[0].letter == letter);
  }
}

TEST_CASE("sixty-four words fit and one more is declined", "[grammar]") {
  std::string line;
  for (int i = 0; i < 64; ++i)
    line += "X1";
  CHECK(takes(line));
  CHECK_FALSE(takes(line + "X1"));
}

TEST_CASE("a number that was printed from an integer is read back as that integer", "[grammar][property]") {
  CHECK(rc::check([] {
    auto const places = *rc::gen::inRange(0, 10);
    auto const digits = *rc::gen::inRange(1, 19);
    std::int64_t limit = 1;
    for (int i = 0; i < digits; ++i)
      limit *= 10;
    auto const value = *rc::gen::inRange<std::int64_t>(-limit, limit);
    std::int64_t scale = 1;
    for (int i = 0; i < places; ++i)
      scale *= 10;
    auto const size = static_cast<std::uint64_t>(value < 0 ? -value : value);
    auto const unit = static_cast<std::uint64_t>(scale);
    std::string const text =
        places == 0 ? fmt::format("{}{}", value < 0 ? "-" : "", size)
                    : fmt::format("{}{}.{:0{}}", value < 0 ? "-" : "", size / unit, size % unit, places);
    bool const in_range = size / unit < 9'223'372'036u;
    WordBlock block;
    // Behind, before and between other text: the eight characters read at once must not reach into it.
    std::string const line = *rc::gen::element<std::string>("X", "G1X", "G1 X", "N1 G01 X1.234 Y5 X") + text +
                             *rc::gen::element<std::string>("", "Y1", " Y99999999", " ");
    bool const taken = parse_plain(line, block);
    RC_ASSERT(taken || !in_range);
    if (!taken) return;
    for (Word const& word : block) {
      if (word.letter != 'X' || line.substr(word.span.begin + 1, word.span.end - word.span.begin - 1) != text)
        continue;
      RC_ASSERT(word.value.scaled == value * (Decimal::one / scale));
      RC_ASSERT(word.value.decimals == places);
      RC_ASSERT(word.value.point == (places > 0));
    }
  }));
}
