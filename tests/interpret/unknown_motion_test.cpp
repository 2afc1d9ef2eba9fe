// What is readable but decided on the machine does not sink the program.
#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

TEST_CASE("A move to a value that only the machine has is carried, and the position is unknown") {
  auto const reading = read("G21 G0 X1 Y1 Z1\nX[#5061+1] Y2\nM30\n");
  CHECK(reading.errors().empty());
  auto const carried = reading.all<motion::Carried>();
  REQUIRE(carried.size() == 1);
  CHECK(carried[0] == motion::Carried{"X[#5061+1] Y2", true});
  for (int axis = 0; axis < 3; ++axis)
    CHECK_FALSE(motion::is_known(reading.position[axis]));
  bool noted = false;
  for (auto const& finding : reading.findings.all())
    noted = noted || finding.code == "motion-unknown";
  CHECK(noted);
}

TEST_CASE("Behind a carried move the position is known again as soon as it is stated") {
  auto const reading = read("G0 X1 Y1 Z1\nX#5061\nG0 X4 Y5 Z6\nM30\n");
  CHECK(reading.position == motion::Vec3{4, 5, 6});
}

TEST_CASE("An arc from an unknown place is refused all the same") {
  CHECK(read("G0 X1 Y1 Z1\nX#5061\nG2 X5 Y5 R9 F100\nM30\n").error_codes() ==
        std::vector<std::string>{"arc-start-unknown"});
}

TEST_CASE("A parameter that is set to an unknown value is unknown, and sinks nothing by itself") {
  auto const reading = read("#100=#5061\n#<edge>=#5062\nG0 X1 Y1 Z1\nM30\n");
  CHECK(reading.errors().empty());
  CHECK(read("#100=1\n#100=#5061\nG0 X#100\nM30\n").all<motion::Carried>().size() == 1);
  CHECK(read("#<edge>=1\n#<edge>=#5061\nG0 X#<edge>\nM30\n").all<motion::Carried>().size() == 1);
}

TEST_CASE("A carried move keeps the modes that it states") {
  auto const reading = read("G21 G0 X1 Y1 Z1\nG91 G1 X#5061 F300\nM30\n");
  auto const& end = reading.steps.back();
  CHECK(end.modes.motion == 10);
  CHECK(end.modes.feed == 300);
  CHECK(end.modes.distance == motion::Distance::incremental);
}

TEST_CASE("An unknown feed, speed, tool or code is refused") {
  for (std::string const block :
       {"G1 X1 F#500", "S#500", "T#500 M6", "G#500 X1", "M#500", "G43 H#500", "G4 P#500", "G10 L2 P1 X#500",
        "G92 X#500", "G81 X#500 Y1 Z-1 R1", "M3 X#500", "G28 X#500"}) {
    INFO(block);
    CHECK(read("G21 G0 X1 Y1 Z1\nG1 F100\n" + block + "\nM30\n").error_codes() ==
          std::vector<std::string>{"unknown-parameter"});
  }
}

TEST_CASE("A macro call with unknown values is carried, and the program must say how it goes on") {
  auto const reading = read("G21 G1 X1 Y1 Z1 F100\nG65 P9810 Z#500\nG0 X1 Y1 Z1\nM30\n");
  CHECK(reading.errors().empty());
  CHECK(reading.all<motion::Carried>()[0] == motion::Carried{"G65 P9810 Z#500", true});
  CHECK(read("G21 G1 X1 Y1 Z1 F100\nG65 P9810 Z#500\nX1\nM30\n").error_codes() ==
        std::vector<std::string>{"no-motion-mode"});
}

TEST_CASE("A probe move leaves its axes unknown until they are stated") {
  auto const reading = read("G21 G0 X0 Y0 Z5\nG38.2 Z-5 F50\nM30\n");
  CHECK(reading.errors().empty());
  CHECK(reading.position.x == 0);
  CHECK_FALSE(motion::is_known(reading.position.z));
}

TEST_CASE("Unknown values are refused where the standard alone is read") {
  interpret::ReadRules rules;
  rules.strict_layout = true;
  CHECK(read("G0 X#5061\nM2\n", rules).error_codes() == std::vector<std::string>{"unknown-parameter"});
}

TEST_CASE("Blanks between digits are read as the language says, with a warning") {
  auto const reading = read("G0 X10 20 Y1\nM30\n");
  CHECK(reading.errors().empty());
  CHECK(reading.position.x == 1020);
  auto const& finding = reading.findings.all()[0];
  CHECK(finding.severity == text::Severity::warning);
  CHECK(finding.code == "number-with-blanks");
  CHECK(finding.message == "blanks stand between the digits of '10 20': it is read as one number");
  CHECK(finding.column == 5);
}

TEST_CASE("A probe move towards a value that only the machine has is carried") {
  auto const reading = read("G21 G0 X0 Y0 Z5\n#1=#5061\nG38.2 X[#1+5] F50\nG0 X4 Y5 Z6\nM30\n");
  CHECK(reading.errors().empty());
  REQUIRE(reading.all<motion::Carried>().size() == 1);
  CHECK(reading.all<motion::Carried>()[0] == motion::Carried{"G38.2 X[#1+5] F50", true});
  CHECK(reading.position == motion::Vec3{4, 5, 6});
  CHECK(read("G21 G0 X0 Y0 Z5\nG38.2 X#5061 A3 F50\nM30\n").error_codes() ==
        std::vector<std::string>{"unknown-parameter"});
}

TEST_CASE("A value that the program gave to a probe result is gone behind a probe move") {
  std::string const probe = "G21 G0 X0 Y0 Z5 F50\n#5061=3\n#100=4\nG38.2 X9\n";
  CHECK(read(probe + "G0 X#5061\nM30\n").all<motion::Carried>().size() == 1);
  CHECK(read(probe + "G0 X#100\nM30\n").position.x == 4);
  CHECK(read("G0 X0 Y0 Z5\n#5061=3\nG0 X#5061\nM30\n").position.x == 3);
}

TEST_CASE("A program that is not in the file may have set every parameter") {
  for (char const* call : {"M98 P9000", "G65 P9000 A1.", "G65 P9000 A#5061", "o<yoke> call [1]"}) {
    INFO(call);
    auto const reading =
        read(fmt::format("#100=4\n#<_edge>=5\nG0 X0 Y0 Z5\n{}\nG0 X#100\nX#<_edge>\nM30\n", call));
    CHECK(reading.all<motion::Carried>().size() == 3);
    CHECK_FALSE(motion::is_known(reading.position.x));
  }
}
