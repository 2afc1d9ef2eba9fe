// Every refusal of NISTIR 6556, read to its letter, with its place in the report. Each row: the lines behind
// a start at X0 Y0 Z0 in mm, the section, the line and column of the error, how its message begins.
#include "../interpret/read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {

interpret::ReadRules to_the_letter() {
  interpret::ReadRules rules;
  rules.strict_layout = true;
  rules.iso_units = false;
  rules.home_moves_all_axes = true;
  rules.initial_level_sticky = false;
  return rules;
}

struct StrictRow {
  char const* section;
  std::string lines;
  std::string place; ///< line:column, counted from the first of `lines`
  std::string message;
};

/// "line:column message" of the first error; `before` lines are not counted.
std::string first_error(std::string const& program, std::uint32_t before) {
  auto const reading = read(program, to_the_letter());
  for (auto const& finding : reading.findings.all())
    if (finding.severity == text::Severity::error)
      return fmt::format("{}:{} {}", finding.line - before, finding.column, finding.message);
  return "none";
}

void check(std::vector<StrictRow> const& rows) {
  for (auto const& row : rows) {
    INFO(row.section << ": " << row.lines);
    auto const error = first_error("G21 G17 G90 G94\nG0 X0 Y0 Z0\n" + row.lines + "\nM2\n", 2);
    std::string const expected = row.place + " " + row.message;
    CHECK(error.substr(0, expected.size()) == expected);
  }
}

std::string const in_force = " while cutter compensation is on";

} // namespace

TEST_CASE("to the letter of 3.3 and appendix E: text, letters, numbers of lines, comments") {
  check({
      {"3.3", "G0 X1 (" + std::string(250, 'a') + ")", "1:257", "the line has 258 characters"},
      {"3.3", "G0 X1 $", "1:7", "found '$', which starts no word"},
      {"3.3", "G0 X1 ; right", "1:7", "RS274/NGC has no comments after a semicolon"},
      {"3.3.2", "G0 E1", "1:4", "RS274/NGC has no E word"},
      {"3.3.2", "G0 U1", "1:4", "RS274/NGC has no U word"},
      {"3.3.2", "G0 V1", "1:4", "RS274/NGC has no V word"},
      {"3.3.2", "G0 W1", "1:4", "RS274/NGC has no W word"},
      {"3.1", "O5", "1:1", "RS274/NGC has no program number (O)"},
      {"3.3.1", "N000009 G0 X1", "1:1", "the line number has 6 digits"},
      {"3.3.1", "N-1 G0 X1", "1:2", "expected digits after 'N', found '-'"},
      {"3.3.1", "G0 N1 X1", "1:4", "a line number stands only at the start of a block"},
      {"3.3.1", "(yoke) N1 G0 X1", "1:8", "a line number stands only at the start of a block"},
      {"3.3.1", "N[1] G0 X1", "1:2", "expected digits after 'N', found '['"},
      {"3.3.4", "G0 X1 (yoke", "1:7", "the comment is not closed"},
      {"3.3.4", "G0 X1 (yoke (left)", "1:7", "a comment holds a second opening bracket"},
      {"3.3.4", "G0 X1 (yoke (left) arm)", "1:21", "the comment ended at its first ')'"},
      {"3.3", "G0 X1 )", "1:7", "')' closes a comment that was never opened"},
      {"2.2.2", "/1 G0 X1", "1:1", "RS274/NGC has one block delete switch, without a number"},
      {"E.2", "G0 X1 / Y1", "1:7", "'/' skips a block only as its first character"},
      {"E.2", "G0 X-#1", "1:5", "in RS274/NGC a sign belongs only to a number written out"},
      {"E.2", "G0 X-[2]", "1:5", "in RS274/NGC a sign belongs only to a number written out"},
      {"E.2", "G0 X1E2", "1:6", "a number has no exponent in this language"},
      {"E.2", "G0 X", "1:5", "expected a number after 'X'"},
      {"E.2", "G0 X1.2.3", "1:5", "the number '1.2.3' has"},
      {"E.2", "#1=atan[2]", "1:11", "expected '/'"},
      {"E.2", "#1=asim[0.5]", "1:4", "there is no function"},
      {"E.2", "#1=[1 + 2", "1:10", "expected an operator or ']'"},
      {"3.3.2.2", "#<depth>=1", "1:1", "RS274/NGC has no named parameters"},
      {"3.3.2.3", "#1=2+1", "1:4", "in RS274/NGC operators stand only in square brackets"},
      {"3.3.2.3", "#1=[2 GT 1]", "1:7", "RS274/NGC has no comparisons"},
  });
}

TEST_CASE("to the letter of 3.3.5: what stands twice in a block") {
  check({
      {"3.3.5", "G0 X1 X2", "1:7", "the letter X stands twice"},
      {"3.3.5", "G0 G1 X1", "1:4", "G0 and G1 are both motion codes"},
      {"3.3.5", "G80 G0 X1", "1:5", "G80 and G0 are both motion codes"},
      {"3.3.5", "G17 G18", "1:5", "G17 and G18 are both planes"},
      {"3.3.5", "G90 G91", "1:5", "G90 and G91 are both distance modes"},
      {"3.3.5", "G93 G94", "1:5", "G93 and G94 are both feed modes"},
      {"3.3.5", "G20 G21", "1:5", "G20 and G21 are both units"},
      {"3.3.5", "G40 G41", "1:5", "G40 and G41 are both cutter compensation codes"},
      {"3.3.5", "G43 H1 G49", "1:8", "G43 and G49 are both tool length offset codes"},
      {"3.3.5", "G98 G99", "1:5", "G98 and G99 are both cycle return levels"},
      {"3.3.5", "G54 G55", "1:5", "G54 and G55 are both work offsets"},
      {"3.3.5", "G61 G64", "1:5", "G61 and G64 are both path modes"},
      {"3.3.5", "G4 P1 G53", "1:7", "G4 and G53 are both codes for one block only"},
      {"3.3.5", "M0 M1", "1:4", "M0 and M1 are both stops"},
      {"3.3.5", "M3 M4", "1:4", "M3 and M4 are both spindle codes"},
      {"3.3.5", "M7 M8", "1:4", "M7 and M8 are both coolant codes"},
      {"3.3.5", "M48 M49", "1:5", "M48 and M49 are both override codes"},
      {"3.3.5", "T1 M0 M3 M7 M48 M6", "1:17", "more than 4 M codes"},
  });
}

TEST_CASE("to the letter of 3.3.2: whole numbers and parameters") {
  check({
      {"3.3.2.2", "#0=1", "1:1", "a parameter's number lies between 1 and 5399, not at 0"},
      {"3.3.2.2", "#5400=1", "1:1", "#5400 cannot be set"},
      {"3.3.2.2", "G0 X#5400", "1:5", "#5400 lies outside #1 to #5399"},
      {"3.3.2.1", "#1.5=1", "1:1", "a parameter's number is whole, not 1.5"},
      {"3.3.2.1", "#1.0002=1", "1:1", "a parameter's number is whole, not 1.0002"},
      {"3.3.2.1", "M3.001", "1:1", "M3.001 is not a known code"},
      {"3.3.2.1", "G1.05 X1", "1:1", "G1.05 is not a known code"},
      {"3.3.2.1", "T1.2", "1:1", "a tool number must be a whole number"},
      {"3.2.1", "#5220=10", "1:1", "setting #5220 would change a stored position or origin"},
      {"3.2.1", "#5220=0", "1:1", "setting #5220 would change a stored position or origin"},
      {"3.3.2.3", "#1=[1/0]", "1:6", "division by zero"},
      {"3.3.2.3", "#1=[1 MOD 0]", "1:7", "MOD by zero"},
      {"3.3.2.3", "#1=[[0-1]**0.5]", "1:10", "a negative number has no power that is not whole"},
      {"3.3.2.4", "#1=sqrt[-1]", "1:4", "SQRT of a negative number"},
      {"3.3.2.4", "#1=ln[0]", "1:4", "LN of a number that is not positive"},
      {"3.3.2.4", "#1=asin[2]", "1:4", "ASIN of a number outside -1 to 1"},
      {"3.3.2.4", "#1=acos[-2]", "1:4", "ACOS of a number outside -1 to 1"},
  });
}

TEST_CASE("to the letter of 3.1 and appendix A: percent lines and the end") {
  auto const strict = [](std::string const& program) { return first_error(program, 0); };
  CHECK(strict("%\nG21\n") == "1:0 the program begins with a percent line, but no second one follows");
  CHECK(strict("%\nG21\nM2\n") == "1:0 the program begins with a percent line, but no second one follows");
  CHECK(strict("G21\n") == "1:0 the program has no end: neither M2 nor M30 was met");
  CHECK(strict("G21\n%\nM2\n") == "2:1 a percent line, but the program did not begin with one");
  CHECK(strict("(yoke)\n%\nG21\n%\n") == "2:1 a percent line, but the program did not begin with one");
  CHECK(strict("% (yoke)\nG21\n%\n") == "1:1 in RS274/NGC nothing stands beside '%' on its line");
  CHECK(strict(" %\t\nG21\n% \n$$ behind the end\n") == "none");
  CHECK(strict("\nG21\nM30\n$$ behind the end\n") == "none");
}

TEST_CASE("to the letter of 3.4: who uses the axis words") {
  check({
      {"3.4", "G0 G28 X1", "1:4", "G0 and G28 both want the axis words"},
      {"3.4", "G1 F9 G30 X1", "1:7", "G1 and G30 both want the axis words"},
      {"3.4", "G0 G10 L2 P1 X1", "1:4", "G0 and G10 both want the axis words"},
      {"3.4", "G0 G92 X1", "1:4", "G0 and G92 both want the axis words"},
      {"3.5.15", "G80 X1", "1:5", "axis words beside G80"},
      {"3.5.15", "G80\nX1", "2:1", "axis words, but no motion mode is in force"},
      {"3.5.1", "G0", "1:1", "G0 without axis words"},
      {"3.5.2", "G1 F9", "1:1", "G1 without axis words"},
      {"3.5.18", "G92", "1:1", "G92 without axis words"},
      {"3.5.12", "G53 G0", "1:1", "G53 without axis words"},
      {"3.5.12", "G80\nG53 X1", "2:1", "G53 needs G0 or G1 in force"},
      {"3.5.12", "G91 G53 G0 X1", "1:5", "G53 names machine coordinates, but G91 is in force"},
      {"3.4", "G4 P1 X2", "1:7", "G4 does not move, but the block has axis words"},
      {"3.4", "G4 X2", "1:4", "G4 does not move, but the block has axis words"},
  });
}

TEST_CASE("to the letter of 3.5.3: arcs") {
  check({
      {"3.5.3.1", "G2 R5 F9", "1:1", "G2 without axis words"},
      {"3.5.3.1", "G2 Z1 R5 F9", "1:1", "in RS274/NGC an arc needs an end point in its plane"},
      {"3.5.3.1", "G2 X0 Y0 R5 F9", "1:10", "an arc with R ends where it starts"},
      {"3.5.3.1", "G2 X10 R4 F9", "1:8", "the end point is 10.0000 mm away, farther than twice the radius"},
      {"3.5.3.2", "G2 I5 F9", "1:1", "G2 without axis words"},
      {"3.5.3.2", "G2 Z1 I5 F9", "1:1", "in RS274/NGC an arc needs an end point in its plane"},
      {"3.5.3.2", "G2 X10 F9", "1:1", "an arc without centre or radius"},
      {"3.5.3.2", "G2 X10 K5 F9", "1:8", "K5 has no meaning for an arc in the XY plane"},
      {"3.5.3.2", "G18 G2 X10 J5 F9", "1:12", "J5 has no meaning for an arc in the XZ plane"},
      {"3.5.3.2", "G19 G2 Y10 I5 F9", "1:12", "I5 has no meaning for an arc in the YZ plane"},
      {"3.5.3.2", "G2 X10.0021 I5 F9", "1:13", "the arc does not end on its circle"},
      {"3.5.3", "G2 X10 R5 I5 F9", "1:8", "an arc with both a radius and a centre"},
  });
}

TEST_CASE("to the letter of 3.5.4 to 3.5.11: dwells, origins, probes, offsets") {
  check({
      {"3.5.4", "G4", "1:1", "G4 without a time"},
      {"3.5.4", "G4 P-1", "1:4", "the dwell time P-1 is negative"},
      {"3.5.5", "G10 P1 X0", "1:1", "only G10 L2"},
      {"3.5.5", "G10 L3 P1 X0", "1:5", "only G10 L2"},
      {"3.5.5", "G10 L2 X0", "1:1", "G10 L2 without P"},
      {"3.5.5", "G10 L2 P0 X0", "1:8", "the work offset P of G10 must be a whole number from 1 to 9"},
      {"3.5.5", "G10 L2 P10 X0", "1:8", "the work offset P of G10 must be a whole number from 1 to 9"},
      {"3.5.5", "G10 L2 P1.5 X0", "1:8", "the work offset P of G10 must be a whole number from 1 to 9"},
      {"3.5.9.1", "G38.2 F9", "1:1", "G38.2 without axis words"},
      {"3.5.9.1", "G38.2 Z-0.25 F9", "1:1", "a probe move must start more than 0.254 mm from its end point"},
      {"3.5.9.1", "G38.2 A1 Z-5 F9", "1:7", "a probe move with a rotary axis"},
      {"3.5.9.1", "G93 G38.2 Z-5 F9", "1:5", "a probe move with G93 in force"},
      {"3.5.10", "G41 D1.5", "1:5", "a tool table entry must be a whole number"},
      {"3.5.10", "G41 D-1", "1:5", "a tool table entry must be a whole number"},
      {"3.5.10", "G18 G42 D1", "1:5", "cutter compensation works in the XY plane only"},
      {"3.5.10", "G41 D1\nG41 D1", "2:1", "G41 while cutter compensation is already on"},
      {"B.5", "D1", "1:1", "D1 has nothing to use it"},
      {"B.5", "G40 D1", "1:5", "D1 has nothing to use it"},
      {"3.5.11", "G43", "1:1", "G43 without H"},
      {"3.5.11", "G43 H-1", "1:5", "a tool table entry must be a whole number"},
      {"3.5.11", "G43 H1.5", "1:5", "a tool table entry must be a whole number"},
      {"3.5.11", "H1", "1:1", "H1 has nothing to use it"},
  });
}

TEST_CASE("to the letter of appendix B.5: what does not go with cutter compensation") {
  for (std::string const code : {"G20", "G28", "G30 X0", "G53 G0 X1", "G38.2 Z-5 F9", "G54", "G55", "G59.3",
                                 "G18", "G19", "G92 X0", "G92.1", "G92.2", "G92.3", "G81 X1 Z-1 R1 F9"}) {
    auto const word = code.substr(0, code.find(' '));
    check({{"B.5", "G41 D1\n" + code, "2:1", word + in_force}});
  }
}

TEST_CASE("to the letter of 3.5.16: cycles") {
  check({
      {"3.5.16", "G81 R1 F9", "1:1", "G81 without axis words"},
      {"3.5.16", "G82 X1 Z-1 R1 P-1 F9", "1:15", "the dwell time P-1 is negative"},
      {"3.5.16", "G81 X1 Z-1 R1 L0 F9", "1:15", "the repeats L of a cycle must be a whole number from 1"},
      {"3.5.16", "G81 X1 Z-1 R1 L-1 F9", "1:15", "the repeats L of a cycle must be a whole number from 1"},
      {"3.5.16", "G81 X1 Z-1 R1 L1.5 F9", "1:15", "the repeats L of a cycle must be a whole number from 1"},
      {"3.5.16", "G81 X1 Z-1 R1 A1 F9", "1:15", "a canned cycle that moves a rotary"},
      {"3.5.16", "G93 G81 X1 Z-1 R1 F9", "1:5", "a canned cycle with G93 in force"},
      {"3.5.16", "G81 X1 R1 F9", "1:1", "G81 needs Z"},
      {"3.5.16", "G18 G81 X1 R1 F9", "1:5", "G81 needs Y"},
      {"3.5.16", "G19 G81 Y1 R1 F9", "1:5", "G81 needs X"},
      {"3.5", "G81 X1 Z-1 F9", "1:1", "G81 needs R"},
      {"3.5.16", "G81 X1 Z-1 R-2 F9", "1:1", "the retract plane R lies below the bottom"},
      {"3.5.16", "G91 G81 X1 Z1 R1 F9", "1:5", "the retract plane R lies below the bottom"},
      {"3.5", "G82 X1 Z-1 R1 F9", "1:1", "G82 needs P"},
      {"3.5", "G83 X1 Z-1 R1 F9", "1:1", "G83 needs Q"},
      {"3.5.16.4", "G83 X1 Z-1 R1 Q0 F9", "1:15", "the peck Q0 is not above zero"},
      {"3.5.16.5", "G84 X1 Z-1 R1 F9", "1:1", "G84 cuts a right-hand thread"},
      {"3.5.16.5", "M4 G84 X1 Z-1 R1 F9", "1:4", "G84 cuts a right-hand thread"},
      {"3.5.16.7", "G86 X1 Z-1 R1 P1 F9", "1:1", "G86 stops and restarts the spindle, but it is not turning"},
      {"3.5", "M3 G86 X1 Z-1 R1 F9", "1:4", "G86 needs P"},
      {"3.5.16.8", "G87 X1 Z-1 R1 I1 J1 K1 F9", "1:1", "G87 stops and restarts the spindle"},
      {"3.5", "M3 G87 X1 Z-1 R1 I1 J1 F9", "1:4", "G87 needs K"},
      {"3.5.16.9", "G88 X1 Z-1 R1 P1 F9", "1:1", "G88 stops and restarts the spindle"},
      {"3.5", "M3 G88 X1 Z-1 R1 F9", "1:4", "G88 needs P"},
      {"3.5", "G89 X1 Z-1 R1 F9", "1:1", "G89 needs P"},
  });
}

TEST_CASE("to the letter of 3.5.19 and 3.7: feeds, speeds, tools") {
  check({
      {"3.5.19", "G93 G1 X1", "1:5", "no F in this block: with G93"},
      {"3.5.19", "G93 G1 X1 F9\nX2", "2:1", "no F in this block: with G93"},
      {"3.5.19", "G93 G2 X10 I5", "1:5", "no F in this block: with G93"},
      {"3.7.1", "F-1", "1:1", "the feed rate F-1 is negative"},
      {"3.7.1", "G1 X1", "1:1", "a cutting move, but no feed rate is given"},
      {"3.7.1", "G1 X1 F0", "1:1", "a cutting move, but no feed rate is given"},
      {"3.7.2", "S-1", "1:1", "the spindle speed S-1 is negative"},
      {"3.7.3", "T-1", "1:1", "a tool number must be a whole number from 0"},
  });
}

// From memory, but for unknown codes (3.3).
TEST_CASE("to the letter: words that nothing uses, codes that are not there") {
  check({
      {"-", "G1 X1 F9 I1", "1:10", "I1 has nothing to use it"},
      {"-", "X1 L1", "1:4", "L1 has nothing to use it"},
      {"-", "X1 P1", "1:4", "P1 has nothing to use it"},
      {"-", "G64 P0.1", "1:5", "P0.1 has nothing to use it"},
      {"-", "X1 Q1", "1:4", "Q1 has nothing to use it"},
      {"-", "X1 R1", "1:4", "R1 has nothing to use it"},
      {"-", "G81 X1 Z-1 R1 P1 F9", "1:15", "P1 has nothing to use it"},
      {"3.3", "G99.9", "1:1", "G99.9 is not a known code"},
      {"3.3", "M77", "1:1", "M77 is not a known code"},
      {"-", "G-1 X1", "1:1", "G-1 is not a known code"},
      {"-", "M-3", "1:1", "M-3 is not a known code"},
  });
  for (std::string const code :
       {"G15", "G16", "G50", "G50.1", "G51 X0 Y0 Z0 P2.", "G51.1 X0", "G52 X1", "G65 P1", "G68 X0 Y0 R10",
        "G69", "G73 X1 Z-1 R1 Q1 F9", "G74 X1 Z-1 R1 F9", "G76 X1 Z-1 R1 Q1 F9", "G90.1", "G91.1", "G95",
        "G97", "G54.1 P1", "G38.3 Z-5 F9"})
    check({{"3.3", code, "1:1", "RS274/NGC has no " + code.substr(0, code.find(' '))}});
  check({{"3.3", "G70", "1:1", "G70 is not a known code"},
         {"3.3", "M98 P1", "1:1", "RS274/NGC has no subprograms (M98)"},
         {"3.3", "GOTO 5", "1:1", "RS274/NGC has no jumps"}});
}
