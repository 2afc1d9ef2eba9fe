// The whole text of messages of which a code has several: every wording that the reader can give.
#include "tests/text/temporary_folder.hpp"
#include "whole_message.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::check;
using test::said;

namespace {

/// "code: message | hint" of each error that reading this input to its end gives.
std::vector<std::string> errors_of(text::Input& input) {
  text::Findings findings;
  interpret::ProgramReader reader(input, {}, findings);
  motion::Step step;
  while (reader.next(step)) {
  }
  std::vector<std::string> list;
  for (auto const& finding : findings.all())
    if (finding.severity == text::Severity::error)
      list.push_back(fmt::format("{}: {} | {}", finding.code, finding.message, finding.hint));
  return list;
}

} // namespace

TEST_CASE("Two codes of one modal group: the whole message for every group") {
  auto const clash = [](std::string const& block, std::string const& group) {
    INFO(block);
    auto const blank = block.find(' ');
    CHECK(said(block + "\nM2\n", "modal-group-conflict") ==
          fmt::format(
              "error modal-group-conflict: {} and {} are both {}: a block takes one of them | put one of "
              "them on a line of its own",
              block.substr(0, blank), block.substr(blank + 1), group));
  };
  clash("G4 G53", "codes for one block only (G4, G10, G28, G30, G52, G53, G65, G92)");
  clash("G0 G1", "motion codes (G0 to G3, probing, cycles)");
  clash("G17 G18", "planes (G17, G18, G19)");
  clash("G20 G21", "units (G20, G21)");
  clash("G90 G91", "distance modes (G90, G91)");
  clash("G90.1 G91.1", "arc distance modes (G90.1, G91.1)");
  clash("G93 G94", "feed modes (G93, G94, G95)");
  clash("G40 G41", "cutter compensation codes (G40, G41, G42)");
  clash("G43 G49", "tool length offset codes (G43, G49)");
  clash("G54 G55", "work offsets (G54 to G59.3, G54.1)");
  clash("G61 G64", "path modes (G61, G61.1, G64)");
  clash("G98 G99", "cycle return levels (G98, G99)");
  clash("G68 G51", "coordinate changes (G50, G50.1, G51, G51.1, G68, G69)");
  clash("G15 G16", "polar coordinate codes (G15, G16)");
  clash("M0 M30", "stops and calls (M0, M1, M2, M30, M60, M97, M98, M99)");
  clash("M6 M6", "tool changes (M6)");
  clash("M3 M4", "spindle codes (M3, M4, M5)");
  clash("M8 M9", "coolant codes (M7, M8, M9)");
  clash("M48 M49", "override codes (M48, M49)");
}

TEST_CASE("Codes whose motion is not understood: the whole messages") {
  std::string const plain =
      "post the program again with this feature switched off, so that every position is written out";
  check({
      {"G5.2 X1 Y1\nM2\n", "spline-move",
       "not understood yet: a spline move (G5.2); its path is not lines and arcs", plain},
      {"G5.3\nM2\n", "spline-move",
       "not understood yet: the end of a spline (G5.3); its path is not lines and arcs", plain},
      {"G42.1 D5\nM2\n", "dynamic-compensation",
       "not understood yet: cutter compensation by a diameter in D (G42.1); controls use the code for "
       "different "
       "things",
       "use G42 with a tool table entry, or post the tool-centre path"},
      {"G68.2 X0 Y0\nM2\n", "rotation",
       "not understood yet: a tilted work plane (G68.2); every position that follows would be turned", plain},
      {"G20 G90 G0 X900000\nG91 X900000\nM2\n", "length-out-of-range",
       "X900000 leads farther than any machine reaches", "check the distance mode (G90, G91)"},
      {"G17 F100\nG90.1\nG0 X20 Y10\nG3 X10 Y20 I-10 J0\nM2\n", "arc-radius-mismatch",
       "the arc does not end on its circle: radius 31.6228 mm at the start, 28.2843 mm at the end (they may "
       "differ "
       "by 0.0020 mm)",
       "the centre fits when it counts from the start point: is G91.1 meant?"},
  });
}

TEST_CASE("Values that the program does not tell: the whole messages") {
  std::string const condition = "; which blocks run depends on it";
  auto const unknown = [&](std::string const& value, std::string const& message, std::string const& hint) {
    INFO(value);
    CHECK(said("IF [" + value + " GT 1] GOTO 5\nN5 M2\n", "unknown-parameter") ==
          fmt::format("error unknown-parameter: {}{} | {}", message, condition, hint));
  };
  std::string const set_it = "set it in the program before it is used";
  unknown("#<depth>", "the value of #<depth> is not known: the program has not set it", set_it);
  unknown(
      "#100",
      "the value of #100 is not known: the program has not set it, and the control may still hold one from "
      "earlier work",
      set_it);
  unknown("#5401",
          "#5401 lies outside #1 to #5399: a control keeps its own state there, which is not known here", "");
  unknown(
      "#5061",
      "#5061 is written by the control (probe results, home positions, offsets): its value is not known here",
      "");
  std::string const digits(400, '9');
  std::string words = "G0";
  for (int i = 0; i < 64; ++i)
    words += " X1";
  check({
      {"G0 X#0\nM2\n", "parameter-index", "a parameter's number lies between 1 and 5399, not at 0", ""},
      {("G0 X[" + digits + "*0]\nM2\n").c_str(), "number-too-large",
       "this number is too large for any control", ""},
      {(words + "\nM2\n").c_str(), "too-many-words", "a block of more than 64 words is no block",
       "the line ends of the file may be lost"},
  });
}

TEST_CASE("More carried codes than a block holds: the whole message") {
  interpret::ReadRules rules;
  std::string eight;
  for (int const code : {11, 12, 13, 14, 22, 23, 24, 25, 26}) {
    rules.carried_g.push_back(10 * code);
    if (code != 26) eight += fmt::format("G{} ", code);
  }
  rules.carried_m = {80};
  CHECK(test::read(eight + "\nM2\n", rules).errors().empty());
  check({{(eight + "G26\nM2\n").c_str(), "too-many-carried-codes",
          "more carried codes than one block may hold", "put them on lines of their own"},
         {(eight + "M80\nM2\n").c_str(), "too-many-carried-codes",
          "more carried codes than one block may hold", "put them on lines of their own"}},
        rules);
}

TEST_CASE("Numbers of calls, jumps and loops: the whole messages") {
  std::string const range = " must be a whole number from 0 to 99999999, found ";
  check({
      {"M98 P1.5\nM2\n", "whole-number-expected", "the target P of a call" + range + "P1.5", ""},
      {"M98 P1 L1.5\nM2\n", "whole-number-expected", "the repeats L of a call" + range + "L1.5", ""},
      {"G65 P1.5\nM2\n", "whole-number-expected", "the target P of a call" + range + "P1.5", ""},
      {"G65 P1 L-1\nM2\n", "whole-number-expected", "the repeats L of a call" + range + "L-1", ""},
      {"GOTO [5/2]\nM2\n", "whole-number-expected",
       "the line number of a jump must be a whole number, found 2.5", ""},
      {"WHILE [1 EQ 1] DO 1.5\nM2\n", "whole-number-expected",
       "the number of a loop must be a whole number, found 1.5", ""},
      {"DO 1.5\nM2\n", "whole-number-expected", "the number of a loop must be a whole number, found 1.5", ""},
      {"o1 repeat [1.5]\no1 endrepeat\nM2\n", "whole-number-expected",
       "the number of turns must be a whole number, found 1.5", ""},
      {"o[3/2] if [1 EQ 1]\nM2\n", "whole-number-expected",
       "the label of an O word must be a whole number, found 1.5", ""},
      {"M98 P1\nM30\nO1\nM99 L2\n", "return-with-repeats", "M99 with L: controls disagree on what it means",
       "write the repeats at the call"},
      {"G65 A1\nM2\n", "call-without-target", "G65 without P: what is called is not said",
       "add P and the number"},
      {"M97 P5\nM30\nN5 M97 P5\nM99\n", "recursive-call", "the subprogram at N5 calls itself",
       "a subprogram that calls itself is not followed: write it as a loop"},
      {"o1 if [1 EQ 0]\no1 elseif\no1 endif\nM2\n", "label-without-partner",
       "no elseif with a condition with this label belongs to it", "check the labels of the O words"},
      {"o1 if [1 EQ 0]\no1 elseif [1\no1 endif\nM2\n", "label-without-partner",
       "no readable elseif with this label belongs to it", "check the labels of the O words"},
  });
}

TEST_CASE("Arguments of a macro call that controls read differently: the whole messages") {
  check({
      {"G65 P1 I1. K1. J1. J2.\nM30\n", "macro-argument",
       "J1. behind G65 does not continue the sets of I, J and K: controls disagree on which parameter it is",
       "write whole sets in the order I, J, K"},
      {"G65 P1 I1 I2 I3 I4 I5 I6 I7 I8 I9 I10 I11\nM30\n", "macro-argument",
       "more than 10 sets of I, J and K behind G65", ""},
      {"G65 P1 D5. I1. I2.\nM30\n", "macro-argument",
       "I2. stands for #7, which another argument has set already", "leave one of the two out"},
  });
  interpret::ReadRules counting;
  counting.count_without_point = true;
  check({{"G65 P1 A1\nM2\n", "macro-argument",
          "A1 has no decimal point: controls that count least increments disagree on what such an argument "
          "is worth",
          "write a decimal point"}},
        counting);
}

TEST_CASE("Layout and coordinates of the standard: the rest of the whole messages") {
  interpret::ReadRules strict;
  strict.strict_layout = true;
  check({{"G65 P1\nM2\n", "not-in-standard", "RS274/NGC has no G65", "post the program again without it"},
         {"#1=[2 LT 3]\nM2\n", "not-in-standard", "RS274/NGC has no comparisons",
          "post the program with the values worked out"},
         {"#1=2+3\nM2\n", "not-in-standard", "in RS274/NGC operators stand only in square brackets",
          "put the value in square brackets"},
         {"#<depth>=2\nM2\n", "not-in-standard", "RS274/NGC has no named parameters (#<depth>)",
          "use one of #1 to #5399"},
         {"G0 X-[2]\nM2\n", "not-in-standard", "in RS274/NGC a sign belongs only to a number written out",
          "write 0 minus the value, as in [0-#1]"},
         {"G0 U2\nM2\n", "not-in-standard", "RS274/NGC has no U word", "post the program again without it"},
         {"% (bell yoke)\nG0 X1\n%\n", "percent-beside-words",
          "in RS274/NGC nothing stands beside '%' on its line", "put the comment on a line of its own"},
         {"G0 X0 Y0 Z0\nG2 Z1 I5 F100\nM2\n", "arc-without-end",
          "in RS274/NGC an arc needs an end point in its plane", "add X or Y"},
         {"(yoke (left)\nM2\n", "nested-comment", "a comment holds a second opening bracket",
          "RS274/NGC has no comments within comments: use other brackets inside"}},
        strict);
  std::string const cancel = "cancel it first (G69, G50, G50.1), and set it anew afterwards";
  std::string const at_start = "G21 G90 G17 G94 F100\nG0 X0 Y0 Z0\n";
  for (auto const& [code, what] :
       {std::pair{"G51 X0 Y0 Z0 P2.", "scaling (G51)"}, {"G51.1 X0", "mirror image (G51.1)"}})
    CHECK(said(at_start + code + "\nG68 X0 Y0 R30\nM2\n", "frame-already-active") ==
          fmt::format(
              "error frame-already-active: G68 while {} is active: controls disagree on their order | {}",
              what, cancel));
}

TEST_CASE("A program that can be read only once has no jumps: the whole message") {
  auto input = text::Input::pipe("output");
  input.append("G0 X1\nGOTO 5\nN5 M2\n");
  auto const errors = errors_of(input);
  REQUIRE_FALSE(errors.empty());
  CHECK(errors.front() ==
        "cannot-read-again: jumps and loops need a program that can be read more than once | give "
        "the program as a file");
}

TEST_CASE("A file that was cut short while a loop runs is refused: the whole message") {
  TemporaryFolder const folder;
  // Longer than one stretch of reading, so that what lies in front is given back.
  std::string program = "#1=0\nWHILE [#1 LT 3] DO 1\n";
  for (int i = 0; i < 150'000; ++i)
    program += fmt::format("G0 X{}.5 (yoke)\n", i % 100);
  program += "#1=[#1+1]\nEND 1\nM30\n";
  folder.write("yoke.nc", program);
  auto input = text::Input::open(folder.path("yoke.nc"));
  REQUIRE(input);
  text::Findings findings;
  interpret::ProgramReader reader(*input, {}, findings);
  motion::Step step;
  for (int i = 0; i < 400'000 && !findings.has_errors() && reader.next(step); ++i)
    if (i == 200'000) folder.write("yoke.nc", "G0 X1\n");
  REQUIRE(findings.has_errors());
  auto const& finding = findings.all().front();
  CHECK(fmt::format("{}: {} | {}", finding.code, finding.message, finding.hint) ==
        "cannot-read-again: this line is needed again, but it can no longer be read | give the program as a "
        "file");
}
