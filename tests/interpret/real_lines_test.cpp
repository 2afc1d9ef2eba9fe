// What real programs contain, broken or only odd, through the whole reader.
#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {

/// The only error of a program that is whole but for one line, as the user sees it.
std::string shown(std::string const& line) {
  auto const reading = read("G21 G90 G0 X0 Y0 Z5\n" + line + "\nM30\n");
  std::string all;
  for (auto const& finding : reading.findings.all())
    if (finding.severity == text::Severity::error) all += text::format(finding, "yoke.nc");
  return all;
}

std::vector<std::string> problems(std::string const& program, interpret::ReadRules const& rules = {}) {
  std::vector<std::string> list;
  auto const reading = read(program, rules);
  for (auto const& finding : reading.findings.all())
    if (finding.severity != text::Severity::note) list.push_back(finding.code);
  return list;
}

using Codes = std::vector<std::string>;

} // namespace

TEST_CASE("A letter O for a zero is shown with its line, a caret and the word as it should be") {
  CHECK(shown("MO6 T1") == "yoke.nc:2:2: error: expected a number after 'M', found the letter O\n"
                           "MO6 T1\n"
                           " ^\n"
                           "  help: write the digit 0: M06\n");
  CHECK(shown("GO X0.").find("letter O") != std::string::npos);
  CHECK(shown("TO303").find("letter O") != std::string::npos);
}

TEST_CASE("Broken lines of real programs each get one message of their own") {
  struct Line {
    char const* text;
    char const* code;
  };
  for (Line const& line :
       {Line{"G1 X20.5.1 F100", "two-points"}, Line{"10.5", "number-without-letter"},
        Line{"G0 X Y10", "number-expected"}, Line{"G0 X-11.Z", "number-expected"},
        Line{"G43 H__", "placeholder"}, Line{"<<<<<<< HEAD", "merge-conflict-marker"},
        Line{"=======", "merge-conflict-marker"}, Line{">>>>>>> bezel", "merge-conflict-marker"},
        Line{"<html>", "markup-tag"}, Line{"depth=5", "assignment-to-name"},
        Line{"pocket(10)", "call-of-name"}, Line{"G1 X10, R 15", "corner-word"},
        Line{"print X", "print-statement"}, Line{"G1 X1E5", "exponent"}, Line{"G0 X1,5", "decimal-comma"},
        Line{"(open", "unclosed-comment"}}) {
    INFO(line.text);
    auto const reading = read(std::string("G21 G90 G0 X0 Y0 Z5\n") + line.text + "\nM30\n");
    CHECK(reading.error_codes() == Codes{line.code});
    CHECK(reading.findings.all()[0].line == 2);
    CHECK(reading.findings.all()[0].column >= 1);
  }
}

TEST_CASE("I, J and K on a straight move are refused: they may be a tool axis") {
  CHECK(read("G0 X0 Y0 Z0\nG1 X1 I0 J0 K1 F100\nM30\n").error_codes() == Codes{"word-without-user"});
}

TEST_CASE("An assignment, a loop and a condition in one block are refused") {
  CHECK(read("#1=0 WHILE [#1 LT 5] DO 1\nEND 1\nM30\n").error_codes().front() == "flow-beside-words");
}

TEST_CASE("All errors of a file are counted, and of each kind the first ones are kept") {
  std::string program = "G21\n";
  for (int i = 0; i < 100; ++i)
    program += "G1 X F100\n";
  auto input = text::Input::from_memory(program + "M30\n");
  text::Findings findings;
  interpret::ProgramReader reader(input, {}, findings);
  motion::Step step;
  while (reader.next(step)) {
  }
  CHECK(findings.count(text::Severity::error) == 100);
  CHECK(findings.all().size() == 20);
  CHECK(findings.left_out("number-expected") == 80);
}

TEST_CASE("Rotary and secondary axes are carried, and the linear axes stay known") {
  auto const reading = read("G21 G90 G0 X1 Y2 Z3 A0 B5\nG1 X4 A90. U1 V2 W3 F100\nC45\nG1 X5\nM30\n");
  CHECK(reading.errors().empty());
  CHECK(reading.position == motion::Vec3{5, 2, 3});
  REQUIRE(reading.motions().size() == 4);
  CHECK(reading.motions()[1].rotary);
  CHECK(reading.motions()[2].rotary);
  CHECK_FALSE(reading.motions()[3].rotary);
}

TEST_CASE("A line number may have more than five digits, repeat, and stand alone") {
  CHECK(problems("N1234567 G0 X1\nN10\nN10 G0 X2\nN0010 X3\nM30\n").empty());
}

TEST_CASE("Blank lines, tabs, missing blanks, lower case and leading zeros are taken") {
  auto const reading = read("g21g90g17\n\n\tg00x1.y.5z-0003.\t\n   \nG01X2.Y1F100\nm30");
  CHECK(reading.errors().empty());
  CHECK(reading.position == motion::Vec3{2, 1, -3});
}

TEST_CASE("Comments of every kind are taken") {
  CHECK(problems("(bezel) G0 X1 (to the shoulder) Y2 ; and on\n;\n; (striker)\nX2 ;\nM30\n").empty());
  CHECK(problems("G0 X1 (a (nested) Y2\nM30\n").empty());
}

TEST_CASE("A bracket inside a comment is answered where it stands") {
  CHECK_FALSE(read("G0 X1 (a (nested) comment) Y2\nM30\n").errors().empty());
}

TEST_CASE("Bytes that are no text may stand in comments only") {
  using namespace std::string_literals;
  CHECK(problems("G0 X1 (\xC3\xA9\xFF \x80)\nM30\n").empty());
  CHECK(problems("G0 X1 (a\0b)\nM30\n"s).empty());
  CHECK(read("G0 X1 \0\nM30\n"s).error_codes() == Codes{"control-character"});
  CHECK(read("G0 X1\xFF\nM30\n").error_codes() == Codes{"foreign-character"});
}

TEST_CASE("Line ends and a byte-order mark do not change what a program means") {
  for (std::string const end : {"\n", "\r\n", "\r"}) {
    auto const reading = read("\xEF\xBB\xBF%" + end + "G21 G0 X1" + end + "Y2" + end + "M30" + end + "%");
    CHECK(reading.errors().empty());
    CHECK(reading.position.y == 2);
    CHECK(reading.steps.back().place.line == 5);
  }
  CHECK(read("G0 X1\nY2\r\nZ3\rM30").position == motion::Vec3{1, 2, 3});
}

TEST_CASE("Text behind the end is kept and not executed") {
  auto const reading = read("%\nG0 X1\nM30\n%\nMO6 = nonsense\nG0 X9\n");
  CHECK(reading.errors().empty());
  CHECK(reading.position.x == 1);
  CHECK(reading.steps.back().place.line == 6);
}

TEST_CASE("A program without units, end or percent pair is read, with a warning for the end") {
  CHECK(problems("G0 X1 Y1 Z1\n") == Codes{"no-program-end"});
  CHECK(problems("%\nG0 X1 Y1 Z1\nM30\n").empty());
}

TEST_CASE("A full circle needs no end point") {
  CHECK(problems("G21 G0 X0 Y0 Z0\nG2 I5 F100\nG3 I5 J0\nM30\n").empty());
}

TEST_CASE("G28 with a bare axis letter is refused and says what is missing") {
  CHECK(read("G91 G28 X\nM30\n").error_codes() == Codes{"number-expected"});
}

TEST_CASE("Several M codes, F first and G last are all one block") {
  auto const reading = read("F100 X1 S500 M3 M8 Y1 G1\nM30\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions().size() == 1);
}
