#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {

std::vector<motion::Cycle> cycles(std::string const& program, interpret::ReadRules const& rules = {}) {
  auto const reading = read(program, rules);
  INFO(program);
  CHECK(reading.errors().empty());
  return reading.all<motion::Cycle>();
}
std::string const above = "G0 X0 Y0 Z10 F100 S400 M3\n";
interpret::ReadRules by_the_standard() {
  interpret::ReadRules rules;
  rules.initial_level_sticky = false;
  return rules;
}

} // namespace

TEST_CASE("Bottom, retract plane, peck and dwell stay from hole to hole") {
  auto const holes = cycles(above + "G99 G82 X1 Y1 Z-3 R2 P0.5\nX2\nY3\nZ-4\n");
  REQUIRE(holes.size() == 4);
  CHECK(holes[1].hole == motion::Vec3{2, 1, -3});
  CHECK(holes[2].hole == motion::Vec3{2, 3, -3});
  CHECK(holes[3].hole == motion::Vec3{2, 3, -4});
  CHECK(holes[3].dwell == 0.5);
  CHECK(holes[3].retract == 2);
  CHECK(holes[1].from == motion::Vec3{1, 1, 2});
}

TEST_CASE("Another cycle starts with nothing kept") {
  CHECK(read(above + "G81 X1 Z-3 R2\nG85 X2\n").error_codes() ==
        std::vector<std::string>{"cycle-word-missing"});
  CHECK(read(above + "G81 X1 Z-3 R2\nG0 Z10\nG81 X2\n").error_codes() ==
        std::vector<std::string>{"cycle-word-missing"});
}

TEST_CASE("A block without axis words makes no hole") {
  auto const reading = read(above + "G81 X1 Z-3 R2\nF80\nM8\n(next row)\nX2\n");
  CHECK(reading.errors().empty());
  auto const holes = reading.all<motion::Cycle>();
  REQUIRE(holes.size() == 2);
  CHECK(holes[1].feed == 80);
}

TEST_CASE(
    "The level of G98 is the height at entry into the cycle mode, or before each block by the standard") {
  std::string const program = above + "G99 G81 X1 Z-3 R2\nG98 X2\n";
  CHECK(cycles(program)[1].clear == 10);
  CHECK(cycles(program, by_the_standard())[1].clear == 2);
}

TEST_CASE("The level of G98 is never below the retract plane") {
  CHECK(cycles("G0 X0 Y0 Z1 F100\nG98 G81 X1 Z-3 R2\n")[0].clear == 2);
}

// Kept depths and heights are those of an axis: in another plane it is another axis.
TEST_CASE("What a cycle keeps is not kept from one plane to another") {
  auto const holes = cycles("G21 G17 G90 G98 F100\nG0 X0 Y7 Z20\nG81 X1 Y1 Z-5 R2\nG18 G81 X3 Z3 Y-4 R1\n");
  REQUIRE(holes.size() == 2);
  CHECK(holes[0].clear == 20);
  CHECK(holes[1].clear == 1);
  CHECK(read("G21 G17 G90 G98 F100\nG0 X0 Y7 Z20\nG81 X1 Y1 Z-5 R2\nG18 X3 Z3\nM2\n").error() ==
        "4:5+2 cycle-word-missing: G81 needs Y, the bottom of the hole: it is neither in this block nor kept "
        "from one before | add Y");
}

TEST_CASE("A rapid in between ends the cycle mode and its level") {
  auto const holes = cycles(above + "G98 G81 X1 Z-3 R2\nG0 Z30\nG81 X2 Z-3 R2\n");
  CHECK(holes[0].clear == 10);
  CHECK(holes[1].clear == 30);
}

TEST_CASE("In incremental mode R counts from the initial level where that is kept") {
  auto const holes = cycles(above + "G91 G99 G81 X1 Z-5 R-8\nX1\nX1\n");
  REQUIRE(holes.size() == 3);
  for (auto const& hole : holes) {
    CHECK(hole.retract == 2);
    CHECK(hole.hole.z == -3);
  }
  CHECK(holes[2].hole.x == 3);
}

TEST_CASE("Repeats in absolute mode stay on one hole") {
  auto const holes = cycles(above + "G81 X4 Y5 Z-1 R2 L3\n");
  REQUIRE(holes.size() == 3);
  CHECK(holes[2].hole == holes[0].hole);
  CHECK(holes[1].from == motion::Vec3{4, 5, 10});
}

TEST_CASE("Thousands of repeats are one block") {
  auto const reading = read(above + "G91 G81 X0.1 Z-1 R-8 L5000\n");
  REQUIRE(reading.all<motion::Cycle>().size() == 5000);
  CHECK(reading.position.x == 500);
  CHECK(reading.steps.back().last_in_block);
}

TEST_CASE("The trade's cycles take their words") {
  auto const chip = cycles(above + "G73 X1 Z-9 R2 Q3\n")[0];
  CHECK(chip.code == 730);
  CHECK(chip.peck == 3);
  auto const left = cycles(above + "M4\nG74 X1 Z-9 R2\n")[0];
  CHECK(left.code == 740);
  auto const fine = cycles(above + "G76 X1 Z-9 R2 I0.2 J-0.1 P1\n")[0];
  CHECK(fine.shift_i == 0.2);
  CHECK(fine.shift_j == -0.1);
  CHECK(cycles(above + "G76 X1 Z-9 R2 Q0.3\n")[0].peck == 0.3);
  CHECK(cycles(above + "G86 X1 Z-9 R2\n")[0].dwell == 0);
}

TEST_CASE("G87 has its height absolute, or from the bottom in incremental mode") {
  // NISTIR 6556, 3.5.16.8
  CHECK(cycles(above + "G87 X1 Y1 Z-9 R2 I1 J0 K-4\n")[0].shift_k == -4);
  CHECK(cycles(above + "G91 G87 X1 Y1 Z-9 R-8 I1 J0 K5\n")[0].shift_k == -2);
  CHECK(cycles("G18\n" + above + "G87 X1 Z1 Y-9 R2 K1 I0 J-4\n")[0].shift_j == -4);
}

TEST_CASE("Dwell and lengths of a cycle follow the dialect and the unit") {
  interpret::ReadRules rules;
  rules.dwell_in_milliseconds = true;
  CHECK(cycles(above + "G82 X1 Z-3 R2 P500\n", rules)[0].dwell == 0.5);
  auto const inch = cycles("G20\n" + above + "G83 X1 Z-1 R.1 Q.05\n")[0];
  CHECK(inch.peck == 1.27);
  CHECK(inch.retract == 2.54);
  CHECK(inch.hole.z == -25.4);
  CHECK(inch.feed == 2540);
}
