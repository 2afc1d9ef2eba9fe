// The whole text of messages, hints included, that are named only by their code elsewhere.
#include "whole_message.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::check;
using test::said;
using test::strict;

namespace {

constexpr char const* cancel_first = "cancel it first (G69, G50, G50.1), and set it anew afterwards";

constexpr char const* at_start = "G21 G90 G17 G94 F100\nG0 X0 Y0 Z0\n";

std::string behind_start(std::string const& block) {
  return at_start + block + "\nM30\n";
}

} // namespace

TEST_CASE("Changes of coordinates that are not plain: the whole messages") {
  auto const expect = [&](std::string const& blocks, char const* code, std::string const& message,
                          std::string const& hint) {
    INFO(blocks);
    CHECK(said(behind_start(blocks), code) == fmt::format("error {}: {} | {}", code, message, hint));
  };
  expect("G68 R30", "frame-without-centre", "G68 without X: controls disagree on where its centre then is",
         "add X");
  expect("G68 X0 Y0", "rotation-without-angle", "G68 without R: the angle is not said", "add R in degrees");
  expect("G91 G68 X0 Y0 R30", "frame-incremental",
         "G68 with G91 in force: controls disagree on what its values count from", "write G90 in this block");
  expect("G18 G68 X0 Y0 R30", "frame-outside-xy", "G68 outside the XY plane is not understood yet",
         "select G17 first");
  expect("G68 X0 Y0 R30\nG51.1 X0", "frame-already-active",
         "G51.1 while a rotated coordinate system (G68) is active: controls disagree on their order",
         cancel_first);
  expect("G68 X0 Y0 R30 G1", "frame-beside-words", "G68 stands beside words that it has no use for",
         "put it on a line of its own");
  expect("G68 X0 Y0 R30\nG1 X5", "turned-position-unknown",
         "the first move in a rotated coordinate system names one of X and Y only: where it leads depends on "
         "the other",
         "write both X and Y");
  expect("G68 X0 Y0 R30\nG28 X0 Z0", "not-under-frame",
         "G28 while a rotated coordinate system (G68) is active", cancel_first);
  expect("G16\nG0 X10 Y10\nG2 X5 Y5 R10", "not-under-frame", "G2 while polar coordinates (G16) is active",
         "switch polar coordinates off with G15 first");
  expect(
      "G51 X0 Y0 Z0 P2", "scaling-factor",
      "the factor P of G51 must be above 0 and have a decimal point: without one some controls take it for "
      "thousandths",
      "write the factor with a decimal point");
  expect("G51 X0 Y0 Z0 I2. J1. K1.", "scaling-by-axis",
         "scaling with a factor of its own for each axis turns arcs into ellipses",
         "post the program at its size");
  expect("G51.1", "mirror-without-axis", "G51.1 without X or Y: what is mirrored is not said",
         "name the axes");
  expect("G16\nG68 X0 Y0 R30", "polar-with-frame", "G68 while polar coordinates are on",
         "switch them off with G15 first");
  expect("G68 X0 Y0 R30\nG16", "polar-with-frame", "G16 while a rotated coordinate system (G68) is active",
         cancel_first);
  expect("G18 G16\nG0 X10 Z10", "polar-outside-xy",
         "polar coordinates outside the XY plane are not understood yet", "select G17 first");
  expect("G16\nG91 X10 Y10", "polar-incremental", "incremental polar coordinates are not understood yet",
         "write G90");
  expect("G16\nG0 X10", "polar-incomplete",
         "the first polar position needs both its radius (X) and its angle (Y)", "add Y");
  interpret::ReadRules counting;
  counting.count_without_point = true;
  check({{"G68 X0 Y0 R30\nM30\n", "angle-without-point",
          "R30 has no decimal point: is it degrees or thousandths?", "write a decimal point"}},
        counting);
}

TEST_CASE("Calls, jumps and loops: the whole messages") {
  check({
      {"GOTO 20\nM30\n", "jump-target-missing", "no line of this program has the number N20", ""},
      {"N5 G0 X0\nN5 G0 X1\nGOTO 5\nM30\n", "jump-target-twice",
       "lines 1 and 2 both have the number N5: controls differ in which one they find",
       "number the program again"},
      {"#1=0\nWHILE [#1 EQ 0] DO 1\nM30\n", "loop-not-closed", "DO 1 has no END 1", ""},
      {"END 1\nM30\n", "loop-not-begun", "END 1 has no DO 1 before it", ""},
      {"o1 endsub\nM30\n", "return-without-call", "nothing was called that could end here", ""},
      {"M99 P5\nM30\n", "return-without-call", "M99 with P, but nothing was called that could end here",
       "end the program with M30"},
      {"o1 if [1 EQ 0]\nM30\n", "label-without-partner", "no endif with this label belongs to it",
       "check the labels of the O words"},
      {"o1 if\no1 endif\nM30\n", "condition-expected", "if needs one condition in square brackets", ""},
      {"o1 while\nM30\n", "condition-expected", "this O word needs one value in square brackets", ""},
      {"G0 X1 GOTO 5\nN5 M30\n", "flow-beside-words",
       "a jump, loop, condition or call stands beside other words: controls disagree on which comes first",
       "put it on a line of its own"},
      {"/GOTO 5\nN5 M30\n", "optional-flow",
       "which blocks run would depend on the block delete switch of the control",
       "take the '/' out, or read the program with block delete on"},
      {"G65 P1 G90\nM30\n", "macro-argument", "G90 is no argument of a macro call",
       "put it on a line of its own"},
      {"G66 P1 X1.\nM30\n", "macro-call",
       "not understood yet: a modal macro call (G66); every block that follows would call another program",
       "post the program with the moves written out"},
      {"O1\nG0 X1\nM99\nO2\nM98 P1\nM30\n", "main-program-unclear",
       "M99 ends the first program of this file, and others follow: which one is the main program is not "
       "said",
       "put the main program first"},
      {"o1 sub\no1 endsub [5]\no1 call\nM30\n", "return-with-value",
       "what becomes of a value behind endsub or return is not the same on every control",
       "set a parameter that begins with an underscore, as in #<_result>=1, and read it there"},
      {"o1 sub\nM99\no1 endsub\no1 call\nM30\n", "return-of-another-kind",
       "M99 ends a subprogram that M98 calls, but 1 was called by its label", "end it with endsub"},
      {"endsub\nM30\n", "keyword-without-label", "'ENDSUB' needs its O word",
       "write the label in front: O<name> ENDSUB or O100 ENDSUB"},
  });
  std::string deep = "M98 P1\nM30\n";
  for (int i = 1; i <= 40; ++i)
    deep += fmt::format("O{}\nM98 P{}\nM99\n", i, i + 1);
  check({{(deep += "O41\nM99\n").c_str(), "calls-too-deep", "calls are nested more than 32 deep", ""}});
  std::string many = "o1 sub\no1 endsub\no1 call";
  for (int i = 0; i < 31; ++i)
    many += " [1]";
  check({{(many += "\nM30\n").c_str(), "too-many-arguments", "a call takes 30 values at most", ""}});
  check({{"M98 P77\nM30\n", "subprogram-elsewhere",
          "O77 is not in this file: the call is carried unchanged, and what it does is not known",
          "put the subprogram behind the end of this program to have it followed"}},
        {}, "warning");
  check({{"G0 X1\nM99\n", "program-repeats", "M99 in the main program begins it anew: it is read once", ""},
         {"G1 X#500 F100\nM30\n", "motion-unknown",
          "what this block does is decided on the machine: it is carried unchanged, and the position is not "
          "known until it is stated again",
          ""}},
        {}, "note");
}

TEST_CASE("Values and axes: the whole messages") {
  check({
      {"#5221=10\nM2\n", "origin-by-parameter",
       "setting #5221 would change a stored position or origin of the control",
       "use G10 L2 for a work offset"},
      {"G1 X[1 LT 2 AND 3]\nM2\n", "order-of-operators",
       "a comparison stands beside AND, OR or XOR, and controls disagree which comes first",
       "put square brackets around each comparison"},
      {"G0 X99999999999\nM2\n", "number-too-large", "the value of X is too large", ""},
      {"G0 X#1.5\nM2\n", "parameter-index", "a parameter's number is whole, not 1.5", ""},
      {"#5400=1\nM2\n", "parameter-index",
       "#5400 cannot be set: what lies above #5399 belongs to the control", ""},
      {"G90 G10 L2 P1 A5\nM2\n", "g10-rotary",
       "the origin of a rotary or secondary axis is not understood yet", "name X, Y and Z only"},
      {"G92 A5\nM2\n", "g92-rotary", "G92 of a rotary or secondary axis is not understood yet",
       "name X, Y and Z only"},
      {"G52 A5\nM2\n", "g52-rotary", "G52 of a rotary or secondary axis is not understood yet",
       "name X, Y and Z only"},
      {"G90 G53 G0 A5\nM2\n", "machine-move-rotary",
       "G53 with a rotary or secondary axis is not understood yet",
       "move that axis in a block of its own without G53"},
      {"G7\nM2\n", "lathe-code", "not understood yet: diameter programming (G7); it belongs to turning",
       "check that this is a milling program"},
      {"G43.1 Z5\nM2\n", "dynamic-length-offset",
       "not understood yet: a tool length offset given in the program (G43.1); the heights that follow "
       "depend "
       "on it",
       "use G43 with H"},
      {"G17 F100\nG0 X0 Y0\nG2 X0 Y0 I0\nM2\n", "arc-without-radius", "the arc's centre is its start point",
       "check I, J and K"},
      {"G17 F100\nG0 X10 Y0\nG90.1\nG3 X0 Y10 I0\nM2\n", "centre-incomplete",
       "with G90.1 the centre is a point: J is missing", "add it"},
  });
  check({{"G0 X1 0\nM2\n", "number-with-blanks",
          "blanks stand between the digits of '1 0': it is read as one number",
          "check whether a letter was lost; write the number without blanks"}},
        {}, "warning");
}

TEST_CASE("The layout of the standard: the whole messages") {
  std::string const long_line = "(" + std::string(300, 'x') + ")\nM2\n";
  check(
      {
          {long_line.c_str(), "line-too-long", "the line has 302 characters, RS274/NGC takes 256",
           "break the block in two, or shorten its comment"},
          {"G0 X1 ; back\nM2\n", "semicolon-comment", "RS274/NGC has no comments after a semicolon",
           "put the comment in parentheses"},
          {"G0 X1\n%\n", "stray-percent", "a percent line, but the program did not begin with one",
           "begin the program with a percent line, or leave this one out"},
          {"%\nG0 X1\nM2\n", "percent-not-closed",
           "the program begins with a percent line, but no second one follows",
           "end the program with a percent line"},
          {"G0 X1\n", "no-program-end", "the program has no end: neither M2 nor M30 was met",
           "end the program with M30"},
          {"M98 P1\nM2\n", "subprogram-call", "RS274/NGC has no subprograms (M98)",
           "post the program with the moves written out"},
          {"GOTO 5\nN5 M2\n", "flow-not-in-standard",
           "RS274/NGC has no jumps, loops, conditions and subprograms",
           "post the program with the moves written out"},
          {"G68 X0 Y0 R30\nM2\n", "not-in-standard", "RS274/NGC has no G68",
           "post the program again without it"},
          {"/2 G0 X1\nM2\n", "block-delete-number", "RS274/NGC has one block delete switch, without a number",
           "write '/' alone"},
      },
      strict());
  check({{"G0 X1\nM30\nleft over\n", "text-after-end", "text after the end of the program is never executed",
          "delete it if nothing else needs it"}},
        {}, "note");
}
