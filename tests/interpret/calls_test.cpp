// Subprograms behind the main program, called by number: M98, M97, M99, G65.
#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {

constexpr char const* yoke = "G90 G21 G0 X0 Y0 Z0\n";

/// The moves behind a known start, at which the first one ends.
std::string moves(std::string const& program, interpret::ReadRules const& rules = {}) {
  auto const reading = read(yoke + program, rules);
  std::string list;
  for (auto const& error : reading.errors())
    list += error + "\n";
  for (auto const& move : reading.motions())
    list += fmt::format("{}({:.6g},{:.6g},{:.6g})", list.empty() ? "" : " ", move.to.x, move.to.y, move.to.z);
  return list;
}

} // namespace

TEST_CASE("M98 runs the subprogram behind the main program and comes back") {
  CHECK(moves("M98 P100\nG0 X9\nM30\nO100\nG0 X1\nG0 Y2\nM99\n") == "(0,0,0) (1,0,0) (1,2,0) (9,2,0)");
}

TEST_CASE("M98 with L runs the subprogram as often as L says") {
  CHECK(moves("G91\nM98 P100 L3\nM30\nO100\nG0 X1\nM99\n") == "(0,0,0) (1,0,0) (2,0,0) (3,0,0)");
  CHECK(moves("G91\nM98 P100 L0\nM30\nO100\nG0 X1\nM99\n") == "(0,0,0)");
}

TEST_CASE("M98 with a packed P runs the subprogram as often as the leading digits say") {
  CHECK(moves("G91\nM98 P20100\nM30\nO100\nG0 X1\nM99\n") == "(0,0,0) (1,0,0) (2,0,0)");
}

TEST_CASE("M98 with a large P means the program of that number when there is no other reading") {
  CHECK(moves("M98 P20100\nM30\nO20100\nG0 X1\nM99\n") == "(0,0,0) (1,0,0)");
}

TEST_CASE("M98 with a P that may be read in two ways is refused") {
  CHECK(read("M98 P20100\nM30\nO100\nM99\nO20100\nM99\n").error() ==
        "1:1+3 call-ambiguous: P20100 may mean O20100, or 2 times O100, and both are in the file | write the "
        "repeats as L");
}

TEST_CASE("The rest of the block is done before the call") {
  CHECK(moves("G0 X1 M98 P100\nM30\nO100\nG0 X2\nM99\n") == "(0,0,0) (1,0,0) (2,0,0)");
}

TEST_CASE("A subprogram may call another one") {
  CHECK(moves("M98 P1\nM30\nO1\nG0 X1\nM98 P2\nG0 X3\nM99\nO2\nG0 X2\nM99\n") ==
        "(0,0,0) (1,0,0) (2,0,0) (3,0,0)");
}

TEST_CASE("What a subprogram sets stays in force behind its call") {
  CHECK(moves("M98 P1\nX1\nM30\nO1\nG91 G1 F100\nM99\n") == "(0,0,0) (1,0,0)");
  auto const reading = read("M98 P1\nM30\nO1\nG91 G18\nM99\n");
  CHECK(reading.modes.motion == 10); // M30
}

TEST_CASE("M99 with P comes back to the line with that number") {
  CHECK(moves("M98 P1\nG0 X8\nN20 G0 X9\nM30\nO1\nG0 X1\nM99 P20\n") == "(0,0,0) (1,0,0) (9,0,0)");
}

TEST_CASE("M97 runs the lines from a line number on") {
  CHECK(moves("M97 P500 L2\nG0 X9\nM30\nN500 G91 G0 Y1\nG90\nM99\n") == "(0,0,0) (0,1,0) (0,2,0) (9,2,0)");
}

TEST_CASE("G65 gives its letters to the parameters of the subprogram") {
  CHECK(moves("G65 P300 A1. B2. C3. I4. J5. K6.\nM30\nO300\nG0 X[#1+#2+#3] Y[#4+#5] Z#6\nM99\n") ==
        "(0,0,0) (6,9,6)");
  CHECK(moves("G65 P300 D7 E8 F9 H11 M13 Q17 R18 S19 T20\nM30\nO300\nG0 X[#7+#8] Y[#9+#11] Z[#13+#17]\n"
              "G0 X#18 Y#19 Z#20\nM99\n") == "(0,0,0) (15,20,30) (18,19,20)");
  CHECK(moves("G65 P300 U21 V22 W23 X24 Y25 Z26\nM30\nO300\nG0 X[#21+#22] Y[#23+#24] Z[#25+#26]\nM99\n") ==
        "(0,0,0) (43,47,51)");
}

// Common practice, from memory: A B C, then I J K in up to ten sets: #4 #5 #6, #7 #8 #9, ... #31 #32 #33.
TEST_CASE("G65 with repeated I, J and K gives its sets to the parameters from #4 on") {
  CHECK(moves("G65 P300 A1. B2. C3. I4. J5. K6. I7. J8. K9.\nM30\nO300\nG0 X#1 Y#2 Z#3\nX#4 Y#5 Z#6\n"
              "X#7 Y#8 Z#9\nM99\n") == "(0,0,0) (1,2,3) (4,5,6) (7,8,9)");
  CHECK(moves("G65 P300 A1. B2. I-3. I4.\nM30\nO300\nG0 X#1 Y#2\nX#4 Y#7\nM99\n") ==
        "(0,0,0) (1,2,0) (-3,4,0)");
  std::string call = "G65 P300";
  for (int set = 1; set <= 10; ++set)
    call += fmt::format(" I{}. J{}. K{}.", 3 * set, 3 * set + 1, 3 * set + 2);
  std::string body;
  std::string expected = "(0,0,0)";
  for (int set = 1; set <= 10; ++set) {
    body += fmt::format("G0 X#{} Y#{} Z#{}\n", 3 * set + 1, 3 * set + 2, 3 * set + 3);
    expected += fmt::format(" ({},{},{})", 3 * set, 3 * set + 1, 3 * set + 2);
  }
  CHECK(moves(call + "\nM30\nO300\n" + body + "M99\n") == expected);
}

TEST_CASE("Repeated I, J and K that could be counted in two ways are refused") {
  for (char const* arguments :
       {"J1. J2. I3.", "I1. K1. J1. I2.", "I1. I2. J3.", "J1. I1. I2.", "D1. I1. I2."}) {
    INFO(arguments);
    CHECK(read(fmt::format("G65 P300 {}\nM30\nO300\nM99\n", arguments)).error_codes() ==
          std::vector<std::string>{"macro-argument"});
  }
}

TEST_CASE("The parameters of a macro call are its own") {
  CHECK(moves("#1=7\nG65 P300 A1.\nG0 Y#1\nM30\nO300\nG0 X#1\n#1=99\nM99\n") == "(0,0,0) (1,0,0) (1,7,0)");
  CHECK(read("#2=7\nG65 P300 A1.\nM30\nO300\nG0 X#2\nM99\n").error_codes().empty());
  CHECK(read("#2=7\nG65 P300 A1.\nM30\nO300\nG0 X#2\nM99\n").all<motion::Carried>().size() == 1);
}

TEST_CASE("A macro that is repeated begins with the same values every time") {
  CHECK(moves("G91\nG65 P300 L2 A1.\nM30\nO300\nG0 X#1\n#1=[#1+1]\nM99\n") == "(0,0,0) (1,0,0) (2,0,0)");
}

TEST_CASE("A common parameter that a macro sets is set behind it") {
  CHECK(moves("G65 P300 A5.\nG0 X#100\nM30\nO300\n#100=[#1*2]\nM99\n") == "(0,0,0) (10,0,0)");
}

TEST_CASE("A macro argument without a point is refused where lengths count least increments") {
  interpret::ReadRules rules;
  rules.count_without_point = true;
  CHECK(read("G65 P300 A1\nM30\nO300\nM99\n", rules).error_codes() ==
        std::vector<std::string>{"macro-argument"});
}

TEST_CASE("Blocks of a subprogram keep the place of their own lines and are not copied") {
  auto const reading = read("G0 X0 Y0 Z0\nM98 P100\nG0 X5\nM30\nO100\nG0 X1\nM99\n");
  REQUIRE(reading.motions().size() == 3);
  std::vector<std::pair<std::uint32_t, bool>> places;
  for (auto const& step : reading.steps)
    if (motion::motion_of(step)) places.emplace_back(step.place.line, step.touched);
  CHECK(places == std::vector<std::pair<std::uint32_t, bool>>{{1, false}, {6, true}, {3, false}});
}

TEST_CASE("Subprograms behind the end are not called idle text") {
  auto const reading = read("G0 X0\nM98 P100\nM30\nO100\nM99\n");
  for (auto const& finding : reading.findings.all())
    CHECK(finding.code != "text-after-end");
}

TEST_CASE("A remark in a subprogram is there for every call") {
  auto const reading = read("M98 P100 L2\nM30\nO100 (striker cam)\n(shoulder)\nM99\n");
  std::string remarks;
  for (auto const& comment : reading.all<motion::Comment>())
    remarks += std::string(comment.text) + ";";
  CHECK(remarks == "striker cam;shoulder;striker cam;shoulder;");
}

TEST_CASE("A program number inside the file appears once, and not for subprograms") {
  auto const reading = read("O1\nM98 P100\nM30\nO100 G0 X1\nM99\n");
  std::size_t numbers = 0;
  for (auto const& layout : reading.all<motion::Layout>())
    numbers += layout.kind == motion::LayoutKind::program_number;
  CHECK(numbers == 1);
}

TEST_CASE("M30 in a subprogram ends the program") {
  auto const reading = read("G0 X0\nM98 P100\nG0 X5\nO100\nG0 X1\nM30\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions().size() == 2);
  CHECK(reading.position.x == 1);
}

TEST_CASE("A subprogram that calls itself is refused, once") {
  CHECK(
      read("M98 P1\nM30\nO1\nG0 X1\nM98 P1\nM99\n").error() ==
      "5:1+3 recursive-call: O1 calls itself | a subprogram that calls itself is not followed: write it as a "
      "loop");
}

TEST_CASE("Calls nested deeper than any control goes are refused") {
  std::string program = "M98 P1\nM30\n";
  for (int i = 1; i <= 40; ++i)
    program += fmt::format("O{}\nM98 P{}\nM99\n", i, i + 1);
  program += "O41\nM99\n";
  CHECK(read(program).error_codes() == std::vector<std::string>{"calls-too-deep"});
}

TEST_CASE("A subprogram without an end is refused where it runs on") {
  CHECK(read("M98 P1\nM30\nO1\nG0 X1\nO2\nM99\n").error() ==
        "5:1+2 subprogram-without-return: O1 runs on to here: it has no M99 | end it with M99");
  CHECK(read("%\nM98 P1\nM30\nO1\nG0 X1\n%\n").error_codes() ==
        std::vector<std::string>{"subprogram-without-return"});
  CHECK(read("M98 P1\nM30\nO1\nG0 X1\n").error_codes() ==
        std::vector<std::string>{"subprogram-without-return"});
}

TEST_CASE("An error in a subprogram is said once, however often it is called") {
  CHECK(read("M98 P1 L50\nM30\nO1\nG1 X\nM99\n").error_codes() ==
        std::vector<std::string>{"number-expected"});
  CHECK(read("M98 P1 L50\nM30\nO1\nH5\nM99\n").error_codes() ==
        std::vector<std::string>{"word-without-user"});
}

TEST_CASE("Two subprograms of one number are refused where one is called") {
  CHECK(read("M98 P1\nM30\nO1\nM99\nO1\nM99\n").error() ==
        "1:1+3 subprogram-twice: O1 stands in this file more than once | leave one of them out");
}

TEST_CASE("A subprogram that is not in the file is carried unchanged, with a warning") {
  auto const reading = read("G0 X1 Y1 Z1\nM98 P9000\nG0 X2\nM30\n");
  CHECK(reading.errors().empty());
  REQUIRE(reading.all<motion::Carried>().size() == 1);
  CHECK(reading.all<motion::Carried>()[0] == motion::Carried{"M98 P9000", true});
  CHECK(reading.findings.all()[0].code == "subprogram-elsewhere");
  CHECK_FALSE(motion::is_known(reading.position.y));
}

TEST_CASE("A call in a program that is still being written is carried, and reading goes on") {
  auto input = text::Input::pipe("output");
  text::Findings findings;
  interpret::ProgramReader reader(input, {}, findings);
  motion::Step step;
  std::string kinds;
  for (std::string const piece : {"G0 X1\nM98 P9000\n", "G0 X2 Y2 Z2\n", "M99\n"}) {
    input.append(piece);
    while (reader.next(step))
      kinds += test::name_of(step.event) + ";";
  }
  input.close();
  while (reader.next(step))
    kinds += test::name_of(step.event) + ";";
  CHECK(kinds == "motion;carried;motion;carried;");
  CHECK_FALSE(findings.has_errors());
}

TEST_CASE("A call beside other words is refused when the subprogram is not in the file") {
  CHECK(
      read("G0 X1 M98 P9000\nM30\n").error() ==
      "1:7+3 subprogram-missing: subprogram O9000 is not in this file | put the call on a line of its own to "
      "have it carried unchanged");
  CHECK(read("M97 P9\nM30\n").error_codes() == std::vector<std::string>{"jump-target-missing"});
}

TEST_CASE("M99 in the main program is read once, and kept") {
  auto const reading = read("G0 X1\nM99\nG0 X2\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions().size() == 1);
  REQUIRE(reading.all<motion::Carried>().size() == 1);
  CHECK(reading.all<motion::Carried>()[0] == motion::Carried{"M99", false});
}

TEST_CASE("A file whose first program ends like a subprogram is refused when others follow") {
  CHECK(read("O1\nG0 X1\nM99\nO2\nM98 P1\nM30\n").error_codes() ==
        std::vector<std::string>{"main-program-unclear"});
}

TEST_CASE("A program that runs on into the next one is refused") {
  CHECK(
      read("O1\nG0 X1\nO2\nG0 X2\nM30\n").error() ==
      "3:1+2 program-runs-on: the program before has no end, and another one begins here | end it with M30; "
      "subprograms stand behind the main program");
}

TEST_CASE("Calls in blocks with block delete are refused, and skipped when the switch is on") {
  CHECK(read("/M98 P1\nM30\nO1\nM99\n").error_codes() == std::vector<std::string>{"optional-flow"});
  interpret::ReadRules rules;
  rules.block_delete = true;
  CHECK(read("/M98 P1\nM30\nO1\nM99\n", rules).errors().empty());
}

TEST_CASE("Broken calls are refused by name") {
  CHECK(read("M98\nM30\n").error() ==
        "1:1+3 call-without-target: M98 without P: what is called is not said | add P and the number");
  CHECK(read("G65 A1\nM30\n").error_codes() == std::vector<std::string>{"call-without-target"});
  CHECK(read("M98 P1.5\nM30\n").error_codes() == std::vector<std::string>{"whole-number-expected"});
  CHECK(read("M98 P1\nM30\nO1\nM99 L2\n").error_codes() ==
        std::vector<std::string>{"return-with-repeats", "subprogram-without-return"});
  CHECK(read("G65 P1 G90\nM30\n").error_codes() == std::vector<std::string>{"macro-argument"});
  CHECK(read("M99 P10\nM30\n").error_codes() == std::vector<std::string>{"return-without-call"});
  CHECK(read("G81 Z-1 R1 F100 L2 X0 Y0 M98 P1\nM30\nO1\nM99\n").error_codes() ==
        std::vector<std::string>{"word-with-two-users"});
}
