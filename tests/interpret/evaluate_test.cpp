#include "grammar/parse.hpp"
#include "interpret/evaluate.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <rapidcheck.h>
#include <string>
#include <vector>

using namespace restep;
using interpret::Evaluation;
using interpret::Parameters;

namespace {

/// Reads lines one after the other, as a program does.
struct Session {
  Parameters parameters;
  grammar::WordBlock words;
  Evaluation result;
  std::string line;

  tl::expected<Evaluation, grammar::ParseError> try_run(std::string text) {
    line = std::move(text);
    auto const block = grammar::parse_block(line);
    if (!block) return tl::unexpected(block.error());
    return interpret::evaluate(*block, line, parameters, words);
  }

  void run(std::string text) {
    auto evaluation = try_run(std::move(text));
    INFO(line);
    if (!evaluation) FAIL(evaluation.error().message);
    result = std::move(*evaluation);
    interpret::apply(result.settings, parameters);
  }

  std::string described() const {
    std::string out;
    for (grammar::Word const& word : words)
      out += fmt::format("{}{} ", word.letter, word.value.value());
    return out;
  }
};

double x_of(std::string const& expression) {
  Session session;
  session.parameters.set(3, 15);
  session.run("x " + expression);
  REQUIRE(session.words.size == 1);
  return session.words.words[0].value.value();
}

grammar::ParseError refusal(std::string const& line) {
  Session session;
  auto const evaluation = session.try_run(line);
  INFO(line);
  REQUIRE_FALSE(evaluation);
  return evaluation.error();
}

struct Example {
  char const* input;
  double printed;
};

} // namespace

// NISTIR 6556, appendix C.2 (and table 10 for asin[0.5]): the printed results, rounded there to five or so
// digits, compared with 3e-5 of the value plus 1e-9.
TEST_CASE("expressions give the results that the standard prints", "[interpret][standard]") {
  auto const example = GENERATE(
      Example{"[1 + 2]", 3}, Example{"[1 - 2]", -1}, Example{"[1 --3]", 4}, Example{"[2/5]", 0.40},
      Example{"[3.0 * 5]", 15}, Example{"[0 OR 0]", 0}, Example{"[0 OR 1]", 1}, Example{"[2 or 2]", 1},
      Example{"[0 AND 0]", 0}, Example{"[0 AND 1]", 0}, Example{"[2 and 2]", 1}, Example{"[0 XOR 0]", 0},
      Example{"[0 XOR 1]", 1}, Example{"[2 xor 2]", 0}, Example{"[15 MOD 4.0]", 3},
      Example{"[1 + 2 * 3 - 4 / 5]", 6.2}, Example{"sin[30]", 0.5}, Example{"cos[0.0]", 1.0},
      Example{"tan[60.0]", 1.7321}, Example{"sqrt[3]", 1.7321}, Example{"atan[1.7321]/[1.0]", 60.0},
      Example{"asin[1.0]", 90.0}, Example{"acos[0.707107]", 45.0}, Example{"abs[20.0]", 20},
      Example{"abs[-1.23]", 1.23}, Example{"round[-0.499]", 0}, Example{"round[-0.5001]", -1.0},
      Example{"round[2.444]", 2}, Example{"round[9.975]", 10}, Example{"fix[-0.499]", -1.0},
      Example{"fix[-0.5001]", -1.0}, Example{"fix[2.444]", 2}, Example{"fix[9.975]", 9},
      Example{"fup[-0.499]", 0.0}, Example{"fup[-0.5001]", 0.0}, Example{"fup[2.444]", 3},
      Example{"fup[9.975]", 10}, Example{"exp[2.3026]", 10}, Example{"ln[10.0]", 2.3026},
      Example{"[2 ** 3.0]", 8.0}, Example{"sqrt[3**2 + 4**2]", 5.0}, Example{"asin[0.5]", 30});
  INFO(example.input);
  CHECK(x_of(example.input) == Approx(example.printed).epsilon(3e-5).margin(1e-9));
}

// The exact values behind the printed ones, by our own arithmetic; half of the last digit given.
TEST_CASE("expressions are exact behind what the standard prints", "[interpret]") {
  CHECK(x_of("atan[1.7321]/[1.0]") == Approx(60.000705).epsilon(0).margin(5e-7));
  CHECK(x_of("tan[60.0]") == Approx(1.7320508).epsilon(0).margin(5e-8));
  CHECK(x_of("sqrt[3]") == Approx(1.7320508).epsilon(0).margin(5e-8));
  CHECK(x_of("exp[2.3026]") == Approx(10.000149).epsilon(0).margin(5e-7));
  CHECK(x_of("acos[0.707107]") == Approx(44.999982).epsilon(0).margin(5e-7));
  CHECK(x_of("ln[10.0]") == Approx(2.3025851).epsilon(0).margin(5e-8));
}

TEST_CASE("the standard's longer expressions come out right", "[interpret][standard]") {
  // NISTIR 6556, 3.3.2.3.
  CHECK(x_of("[2.0 / 3 * 1.5 - 5.5 / 11.0]") == 0.5);
  // Input: 3.3.2.3 with #3 = 15; value by our own arithmetic.
  CHECK(x_of("[1 + acos[0] - [#3 ** [4.0/2]]]") == Approx(-134).epsilon(0).margin(1e-9));
  // Input: appendix C.2, n0460; value by our own arithmetic with a quadrant-aware ATAN.
  CHECK(x_of("[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]") ==
        Approx(2.0005450779).epsilon(0).margin(1e-9)); // a word holds nine decimals
  // 3.3.2.4.
  CHECK(x_of("fix[2.8]") == 2);
  CHECK(x_of("fix[-2.8]") == -3);
  CHECK(x_of("fup[2.8]") == 3);
  CHECK(x_of("fup[-2.8]") == -2);
  // Input: 3.3.2.4; value by our own arithmetic.
  CHECK(x_of("atan[2]/[1+3]") == Approx(26.565051).epsilon(0).margin(5e-7));
  // Table 10.
  CHECK(x_of("[6-[4*3/2]]") == 0);
}

TEST_CASE("operators of one level run from left to right", "[interpret]") {
  CHECK(x_of("[2**3**2]") == 64);
  CHECK(x_of("[1 + 0 AND 0]") == 0);
  CHECK(x_of("[0 AND 1 - 1]") == -1);
  CHECK(x_of("[8/4/2]") == 1);
  CHECK(x_of("[7-4-2]") == 1);
}

TEST_CASE("MOD is never negative, FIX and FUP go down and up, halves round away from zero", "[interpret]") {
  // From memory, not printed in the standard.
  CHECK(x_of("[-1 MOD 4]") == 3);
  CHECK(x_of("[1 MOD -4]") == 1);
  CHECK(x_of("[-4 MOD 4]") == 0);
  CHECK(x_of("round[0.5]") == 1);
  CHECK(x_of("round[-0.5]") == -1);
  CHECK(x_of("round[2.5]") == 3);
  CHECK(x_of("atan[0]/[-1]") == 180);
  CHECK(x_of("atan[-0]/[-1]") == 180);
}

TEST_CASE("comparisons give one or zero and come last", "[interpret]") {
  CHECK(x_of("[1 + 1 EQ 2]") == 1);
  CHECK(x_of("[1 NE 1]") == 0);
  CHECK(x_of("[2 GT 1]") == 1);
  CHECK(x_of("[2 ge 2]") == 1);
  CHECK(x_of("[2 LT 1]") == 0);
  CHECK(x_of("[2 LE 2]") == 1);
  CHECK(x_of("[[1 LT 2] AND [3 LT 2]]") == 0);
}

TEST_CASE("a comparison beside a logical operator must be bracketed", "[interpret]") {
  for (std::string const line : {"X[1 LT 2 AND 3]", "X[3 AND 1 LT 2]", "X[1 LT 2 LT 3 OR 4]"})
    CHECK(refusal(line).code == "order-of-operators");
  CHECK(refusal("X[1 LT 2 AND 3]").span == text::Span{1, 15});
}

TEST_CASE("any value may take any form", "[interpret][standard]") {
  // NISTIR 6556, 3.5: both mean G10 L2.
  Session session;
  session.run("G[2*5] L[1+1]");
  CHECK(session.described() == "G10 L2 ");
  session.parameters.set(100, 2);
  session.run("G10 L#100");
  CHECK(session.described() == "G10 L2 ");
}

TEST_CASE("all values of a block are read before one is set", "[interpret][standard]") {
  // NISTIR 6556, 3.3.3: moves to X15, afterwards #3 is 6.
  Session session;
  session.run("#3 = 15");
  CHECK(session.parameters.get(3) == 15);
  session.run("#3=6 G1 x#3");
  CHECK(session.described() == "G1 X15 ");
  CHECK(session.parameters.get(3) == 6);
}

TEST_CASE("parameters name parameters", "[interpret][standard]") {
  // NISTIR 6556, appendix C.2, n0410 to n0450.
  Session session;
  session.run("#1=2.0");
  session.run("##1 = 0.375");
  CHECK(session.parameters.get(2) == 0.375);
  session.run("x #2 #3=7.0");
  CHECK(session.described() == "X0.375 ");
  session.run("#3=5.0 x #3");
  CHECK(session.described() == "X7 ");
  session.run("x #3 #3=1.1");
  CHECK(session.described() == "X5 ");
  CHECK(session.parameters.get(3) == 1.1);
}

TEST_CASE("of two settings of one parameter the last wins", "[interpret][standard]") {
  // NISTIR 6556, 3.3.5 and 3.3.6.
  Session session;
  session.run("#3=15 #3=6");
  CHECK(session.parameters.get(3) == 6);
  session.run("#3=6 #3=15");
  CHECK(session.parameters.get(3) == 15);
}

TEST_CASE("words, settings and a comment mean the same in every order", "[interpret][standard]") {
  // NISTIR 6556, 3.3.6: 120 orders of these five items.
  std::vector<std::string> items{"g40", "g1", "#3=15", "(foo)", "#4=-7.0"};
  std::sort(items.begin(), items.end());
  int orders = 0;
  do {
    Session session;
    session.run(fmt::format("{} {} {} {} {}", items[0], items[1], items[2], items[3], items[4]));
    ++orders;
    CHECK(session.words.size == 2);
    CHECK(session.words.words[0].value.value() + session.words.words[1].value.value() == 41);
    CHECK(session.parameters.get(3) == 15);
    CHECK(session.parameters.get(4) == -7);
    REQUIRE(session.words.comments.size() == 1);
    CHECK(session.words.comments[0].text == "foo");
  } while (std::next_permutation(items.begin(), items.end()));
  CHECK(orders == 120);
}

TEST_CASE("settings are returned and not made", "[interpret]") {
  // NISTIR 6556, appendix D.8.4: a deleted line is read, its settings do not happen.
  Session session;
  auto const evaluation = session.try_run("/#3=15");
  REQUIRE(evaluation);
  CHECK(session.words.deleted);
  REQUIRE(evaluation->settings.size() == 1);
  CHECK(evaluation->settings[0].index == 3);
  CHECK(evaluation->settings[0].value == 15);
  CHECK_FALSE(session.parameters.get(3));
}

TEST_CASE("names of parameters know neither case nor blanks", "[interpret]") {
  Session session;
  session.run("#<Bezel Radius> = 21.5");
  session.run("X#<bezelradius> Y[#<BEZEL RADIUS>*2]");
  CHECK(session.described() == "X21.5 Y43 ");
}

TEST_CASE("a literal keeps its decimals, a computed value counts as written with a point", "[interpret]") {
  Session session;
  session.run("X1.50 Y[3/2] Z5 A[1/3]");
  CHECK(session.words.words[0].value == grammar::Decimal{1'500'000'000, 2, true});
  CHECK(session.words.words[1].value == grammar::Decimal{1'500'000'000, 0, true});
  CHECK(session.words.words[2].value == grammar::Decimal{5'000'000'000, 0, false});
  CHECK(session.words.words[3].value == grammar::Decimal{333'333'333, 0, true});
}

TEST_CASE("only what is known can be read from a parameter", "[interpret]") {
  CHECK(refusal("X#100").message ==
        "the value of #100 is not known: the program has not set it, and the control may "
        "still hold one from earlier work");
  CHECK(refusal("X[1+#5061]").span == text::Span{4, 9});
  CHECK(refusal("X#5061").code == "unknown-parameter");
  CHECK(refusal("X#5221").code == "unknown-parameter");
  CHECK(refusal("X#6000").code == "unknown-parameter");
  CHECK(refusal("X#<nowhere>").code == "unknown-parameter");
  // NISTIR 6556, table 2.
  CHECK(Parameters().get(5220) == 1);
  CHECK(Parameters(Parameters::Unset::zero).get(100) == 0);
  CHECK_FALSE(Parameters(Parameters::Unset::zero).get(5061));
}

TEST_CASE("what a probe writes is unknown again", "[interpret]") {
  Parameters parameters(Parameters::Unset::zero);
  parameters.set(5061, 12.5);
  parameters.set(1, 3);
  CHECK(parameters.get(5061) == 12.5);
  parameters.forget(5061);
  parameters.forget(1);
  CHECK_FALSE(parameters.get(5061));
  CHECK_FALSE(parameters.get(1));
}

TEST_CASE("a parameter's number is whole and in range", "[interpret]") {
  // NISTIR 6556, 3.3.2.1 and 3.3.2.2: 1 to 5399, within 0.0001 of a whole number.
  Session session;
  session.run("#1.00005=7");
  CHECK(session.parameters.get(1) == 7);
  for (std::string const line :
       {"X#0", "X#-1", "X#1.5", "#0=1", "#5400=1", "#1.001=1", "X#99999999999999999999"})
    CHECK(refusal(line).code == "parameter-index");
}

TEST_CASE("arithmetic that has no result is refused where it stands", "[interpret]") {
  auto const error = refusal("X[1 + 2/[3-3]]");
  CHECK(error.message == "division by zero");
  CHECK(error.span == text::Span{7, 13});
  CHECK(refusal("X[1 MOD 0]").message == "MOD by zero");
  CHECK(refusal("Xsqrt[-1]").message == "SQRT of a negative number");
  CHECK(refusal("Xln[0]").message == "LN of a number that is not positive");
  CHECK(refusal("Xasin[1.001]").message == "ASIN of a number outside -1 to 1");
  CHECK(refusal("Xacos[-1.001]").message == "ACOS of a number outside -1 to 1");
  CHECK(refusal("X[[0-8]**[1/3]]").message == "a negative number has no power that is not whole");
  CHECK(refusal("X[0**-1]").message == "division by zero: a negative power of zero");
  CHECK(refusal("Xtan[270]").message == "TAN of a right angle");
  CHECK(refusal("Xatan[0]/[0]").message == "ATAN of no direction: both values are zero");
  CHECK(refusal("Xexp[1000]").message == "the result is beyond every number range");
  CHECK(refusal("X[1000000*1000000]").message == "the value of X is too large");
  CHECK(refusal("X99999999999").code == "number-too-large");
}

TEST_CASE("a sixty-fifth word is refused", "[interpret]") {
  std::string line;
  for (int i = 0; i < 64; ++i)
    line += "X[1]";
  Session session;
  session.run(line);
  CHECK(session.words.size == 64);
  CHECK(refusal(line + "X[1]").code == "too-many-words");
}

TEST_CASE("flow words are handed on and not followed", "[interpret]") {
  Session session;
  session.run("N5 #1=2 IF [#99 EQ 1] GOTO 10");
  CHECK(session.result.flow);
  CHECK(session.result.settings.size() == 1);
  for (char const* line : {"o<yoke> call [#99]", "GOTO #99", "WHILE [#99 EQ 1] DO 1", "END 1"}) {
    session.run(line);
    CHECK(session.result.flow);
  }
  session.run("G1 X2");
  CHECK_FALSE(session.result.flow);
}

TEST_CASE("a number with blanks among its digits is pointed out", "[interpret]") {
  Session session;
  session.run("G1 X10 20 Y5");
  CHECK(session.described() == "G1 X1020 Y5 ");
  REQUIRE(session.result.split_numbers.size() == 1);
  CHECK(session.result.split_numbers[0] == text::Span{4, 9});
}

TEST_CASE("both tiers of the reader agree on every line that the first one takes", "[interpret][property]") {
  auto const agree = [](std::string const& line) {
    grammar::WordBlock plain;
    if (!grammar::parse_plain(line, plain)) return false;
    auto const tree = grammar::parse_block(line);
    RC_ASSERT(tree.has_value());
    grammar::WordBlock full;
    auto const evaluation = interpret::evaluate(*tree, line, Parameters(), full);
    RC_ASSERT(evaluation.has_value());
    RC_ASSERT(evaluation->settings.empty() && !evaluation->flow && evaluation->split_numbers.empty());
    RC_ASSERT(plain.kind == full.kind);
    RC_ASSERT(plain.deleted == full.deleted);
    RC_ASSERT(plain.has_number == full.has_number);
    if (plain.has_number) {
      RC_ASSERT(plain.number == full.number);
      RC_ASSERT(plain.number_span == full.number_span);
    }
    RC_ASSERT(plain.size == full.size);
    for (std::size_t i = 0; i < plain.size; ++i) {
      RC_ASSERT(plain.words[i].letter == full.words[i].letter);
      RC_ASSERT(plain.words[i].value == full.words[i].value);
      RC_ASSERT(plain.words[i].span == full.words[i].span);
    }
    RC_ASSERT(plain.comments.empty() && full.comments.empty());
    return true;
  };

  int taken = 0;
  CHECK(rc::check("on lines of words", [&] {
    std::string line = *rc::gen::element<std::string>("", "", "/", " / ", "N10", "n 7 ", "/N00012 ");
    auto const count = restep::property::draw(0, 8);
    for (int i = 0; i < count; ++i) {
      line += *rc::gen::element<std::string>("X", "y", "Z", "G", "m", "F", "E", "o", "U ", "A\t", " I");
      line += *rc::gen::element<std::string>("", "-", "+");
      line += std::string(*rc::gen::inRange<std::size_t>(0, 12), *rc::gen::element('0', '1', '9', '5'));
      line += *rc::gen::element<std::string>("", ".", ".", ".5");
      line += std::string(*rc::gen::inRange<std::size_t>(0, 12), *rc::gen::element('0', '4', '5', '9'));
      line += *rc::gen::element<std::string>("", " ", "  ", "\t");
    }
    taken += agree(line);
  }));
  CHECK(taken > 20);
  CHECK(rc::check("on soup", [&](std::vector<std::uint8_t> const& picks) {
    static std::string_view const alphabet = "GXYZNOE0123456789..--+  /";
    std::string line;
    for (std::uint8_t const pick : picks)
      line += alphabet[pick % alphabet.size()];
    agree(line.substr(0, 12));
  }));
}
