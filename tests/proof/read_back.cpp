#include "dialect/writer.hpp"
#include "tests/proof/read_back_help.hpp"

using namespace restep;
using Catch::Matchers::Contains;
using proof::contour;
using proof::with;

TEST_CASE("a program read back from its own text agrees to the last digit", "[read-back]") {
  auto const verdict = proof::read_back(contour, contour);
  CHECK(verdict.agreed);
  CHECK(verdict.result.motions == 10);
  CHECK(verdict.result.largest_deviation == 0);
}

TEST_CASE("how the bytes arrive makes no difference", "[read-back]") {
  for (std::size_t const piece : {std::size_t{1}, std::size_t{16}, std::size_t{100000}})
    CHECK(proof::read_back(contour, contour, {}, piece).agreed);
}

TEST_CASE("other layout of the same blocks agrees", "[read-back]") {
  CHECK(proof::read_back(contour, R"(%
O12
N10G90G21G17(a comment)
N20T3M6
N30S8000M3
M8
G0X0Y-20
Z5.
G1Z-.1F200.
G3X5Y-15I0J5F400
G1X5Y15
G2X10Y20I5J0
G1X30Y20
G2X35Y15I0J-5
G1Y-20Z-.2
G0Z5
M9
M5
M30
%
)")
            .agreed);
}

TEST_CASE("a level that moved by 5 um is found and named", "[read-back]") {
  auto const verdict = proof::read_back(contour, with(contour, "Z-0.1", "Z-0.105"));
  REQUIRE(verdict.failure);
  CHECK(verdict.failure->meant_line == 7);
  CHECK(verdict.failure->written_line == 7);
  CHECK_THAT(verdict.failure->what, Contains("Z-0.1 ") && Contains("Z-0.105 ") && Contains("5 um apart"));
}

TEST_CASE("half a last digit is rounding and one digit is not", "[read-back]") {
  dialect::Dialect three_decimals;
  three_decimals.decimals_mm = 3;
  CHECK(proof::read_back(with(contour, "X30", "X30.0005"), with(contour, "X30", "X30.001"), three_decimals)
            .agreed);
  CHECK_FALSE(
      proof::read_back(with(contour, "X30", "X30.0005"), with(contour, "X30", "X30.0015"), three_decimals)
          .agreed);
}

TEST_CASE("whatever place is meant, what the writer makes of it in inches reads back", "[read-back]") {
  // About every half digit, where it is decided by the last bits which way to round.
  dialect::Dialect inch;
  inch.millimetre = false;
  for (int k = -40; k < 40; ++k)
    for (double const off : {-2e-8, -1.2e-8, -1e-9, 0.0, 1e-9, 1.2e-8, 2e-8}) {
      motion::Step step;
      motion::Motion move;
      move.from = {0, 0, 0};
      move.to = {(k + 0.5) * inch.resolution(motion::Units::inch) + off, 25.4, 0};
      step.event = move;
      step.modes.units = motion::Units::inch;
      step.modes.motion = 0;
      step.generated = true;
      text::Findings findings;
      auto input = text::Input::from_memory("");
      proof::ReadBack output(inch);
      dialect::BlockWriter writer(inch, input, [&](std::string_view bytes) { output.written(bytes); },
                                  findings, {});
      output.meant(step);
      writer.write(step);
      writer.finish();
      INFO(k << " " << off);
      CHECK(output.finish());
    }
}

TEST_CASE("a missing block is found and named", "[read-back]") {
  auto const verdict = proof::read_back(contour, with(contour, "G1 X30\n", ""));
  REQUIRE(verdict.failure);
  CHECK(verdict.failure->meant_line == 11);
}

TEST_CASE("a missing retract at the end is found and named", "[read-back]") {
  auto const verdict = proof::read_back(contour, with(contour, "G1 Y-20 Z-0.2\nG0 Z5\n", "G1 Y-20 Z-0.2\n"));
  REQUIRE(verdict.failure);
  CHECK(verdict.failure->meant_line == 14);
  CHECK_THAT(verdict.failure->what, Contains("missing") && Contains("rapid"));
}

TEST_CASE("a missing end of the program is found and named", "[read-back]") {
  auto const verdict = proof::read_back(contour, with(contour, "M30\n", ""));
  REQUIRE(verdict.failure);
  CHECK_THAT(verdict.failure->what, Contains("missing at the end") && Contains("M30"));
}

TEST_CASE("a block too many is found and named", "[read-back]") {
  auto const verdict = proof::read_back(contour, with(contour, "M9\n", "G1 X36\nM9\n"));
  REQUIRE(verdict.failure);
  CHECK(verdict.failure->written_line == 15);
}

TEST_CASE("a G2 that became a G3 is found and named", "[read-back]") {
  auto const verdict = proof::read_back(contour, with(contour, "G2 X10 Y20", "G3 X10 Y20"));
  REQUIRE(verdict.failure);
  CHECK(verdict.failure->meant_line == 10);
  CHECK_THAT(verdict.failure->what, Contains("clockwise") && Contains("counter-clockwise"));
}

TEST_CASE("a lost M3 is found and named", "[read-back]") {
  auto const verdict = proof::read_back(contour, with(contour, "S8000 M3", "S8000"));
  REQUIRE(verdict.failure);
  CHECK_THAT(verdict.failure->what, Contains("missing") && Contains("M3"));
}

TEST_CASE("a lost coolant, tool, speed or feed is found", "[read-back]") {
  CHECK_FALSE(proof::read_back(contour, with(contour, "M8\n", "")).agreed);
  CHECK_FALSE(proof::read_back(contour, with(contour, "M8\n", "M7\n")).agreed);
  CHECK_FALSE(proof::read_back(contour, with(contour, "T3 M6", "T4 M6")).agreed);
  CHECK_FALSE(proof::read_back(contour, with(contour, "S8000", "S800")).agreed);
  CHECK_FALSE(proof::read_back(contour, with(contour, "F400", "F410")).agreed);
  CHECK_FALSE(proof::read_back(contour, with(contour, "G0 Z5", "G1 Z5 F200")).agreed);
}

TEST_CASE("what already holds may be left out", "[read-back]") {
  std::string const repeated = with(contour, "G1 Y15\n", "M3 S8000\nM8\nG1 Y15\n");
  CHECK(proof::read_back(repeated, contour).agreed);
  CHECK(proof::read_back(contour, repeated).agreed);
}

TEST_CASE("a spindle start behind a tool change cannot be left out", "[read-back]") {
  std::string const changed = with(contour, "G1 Y15\n", "T4 M6\nM3\nG1 Y15\n");
  CHECK_FALSE(proof::read_back(changed, with(changed, "T4 M6\nM3\n", "T4 M6\n")).agreed);
}

TEST_CASE("the same cut in the other units agrees within the other digits", "[read-back]") {
  auto const verdict = proof::read_back("G21 G90 G17\nG0 X0 Y0 Z0\nG1 X25.4 F254\nG1 Y12.7\n",
                                        "G20 G90 G17\nG0 X0 Y0 Z0\nG1 X1 F10\nG1 Y0.5\n");
  CHECK(verdict.agreed);
  CHECK_FALSE(
      proof::read_back("G21 G90\nG0 X0 Y0 Z0\nG1 X25.4 F254\n", "G20 G90\nG0 X0 Y0 Z0\nG1 X25.4 F254\n")
          .agreed);
}

TEST_CASE("text that the dialect does not understand is a failure with its line", "[read-back]") {
  auto const verdict = proof::read_back(contour, with(contour, "G1 X30", "G1 X"));
  REQUIRE(verdict.failure);
  CHECK(verdict.failure->written_line == 11);
  CHECK_THAT(verdict.failure->what, Contains("cannot be read"));
}

TEST_CASE("the block-delete mark must stay", "[read-back]") {
  std::string const optional = with(contour, "M8\n", "/M8\n");
  CHECK(proof::read_back(optional, optional).agreed);
  CHECK_FALSE(proof::read_back(optional, contour).agreed);
  CHECK_FALSE(proof::read_back(contour, optional).agreed);
}

TEST_CASE("the number of the block-delete switch must stay", "[read-back]") {
  std::string const any = with(contour, "M8\n", "/M8\n");
  std::string const second = with(contour, "M8\n", "/2M8\n");
  std::string const third = with(contour, "M8\n", "/3M8\n");
  CHECK(proof::read_back(second, with(contour, "M8\n", "/2 M8\n")).agreed);
  auto const verdict = proof::read_back(second, third);
  REQUIRE(verdict.failure);
  CHECK_THAT(verdict.failure->what, Contains("its block delete is '/3', not '/2'"));
  CHECK_FALSE(proof::read_back(second, any).agreed);
  CHECK_FALSE(proof::read_back(any, second).agreed);
}
