// What NISTIR 6556 refuses (3.3 to 3.7, appendix B.5, and section 4.5's list of cycle errors), message by
// message. Rows marked "from memory" in the reference are refused as shops' controls do.
#include "../interpret/read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {

struct Row {
  char const* before; ///< a block that is fine
  char const* block;
  char const* error; ///< of line 2
};

void check(std::vector<Row> const& rows, interpret::ReadRules const& rules = {}) {
  for (auto const& row : rows) {
    INFO(row.before << " / " << row.block);
    CHECK(read(fmt::format("{}\n{}\nM30\n", row.before, row.block), rules).error() == row.error);
  }
}

} // namespace

TEST_CASE("Refused: words twice and codes of one group") {
  check({
      {"G21", "G0 X1 Y2 X3",
       "2:10+2 repeated-word: the letter X stands twice in one block | leave one of the two words out"},
      {"G0 X0", "G0 G1 X1 F100",
       "2:4+2 modal-group-conflict: G0 and G1 are both motion codes (G0 to G3, probing, cycles): a block "
       "takes one of them | put one of them on a line of its own"},
      {"G21", "G17 G18",
       "2:5+3 modal-group-conflict: G17 and G18 are both planes (G17, G18, G19): a block takes one of them | "
       "put one of them on a line of its own"},
      {"G21", "G90 G91",
       "2:5+3 modal-group-conflict: G90 and G91 are both distance modes (G90, G91): a block takes one of "
       "them | put one of them on a line of its own"},
      {"G21", "G28 G92 X0",
       "2:5+3 modal-group-conflict: G28 and G92 are both codes for one block only (G4, G10, G28, G30, G52, "
       "G53, G65, G92): a block takes one of them | put one of them on a line of its own"},
      {"M5", "M3 M4",
       "2:4+2 modal-group-conflict: M3 and M4 are both spindle codes (M3, M4, M5): a block takes one of them "
       "| put one of them on a line of its own"},
      {"M9", "M7 M8",
       "2:4+2 modal-group-conflict: M7 and M8 are both coolant codes (M7, M8, M9): a block takes one of them "
       "| put one of them on a line of its own"},
      {"M5", "M0 M1",
       "2:4+2 modal-group-conflict: M0 and M1 are both stops and calls (M0, M1, M2, M30, M60, M97, M98, "
       "M99): a block takes one of "
       "them | put one of them on a line of its own"},
      {"M5", "M3 M8 M48 M0 M6",
       "2:14+2 too-many-m-codes: more than 4 M codes in one block | put some of them on a line of their own"},
  });
}

TEST_CASE("Refused: codes that nobody acts on") {
  check({
      {"G21", "G99.9",
       "2:1+5 unknown-g-code: G99.9 is not a known code: whether it moves the machine is not known | leave "
       "it out, or list it as carried in the dialect when it does not move the axes"},
      {"G21", "G12 X1",
       "2:1+3 unknown-g-code: G12 is not a known code: whether it moves the machine is not known | leave it "
       "out, or list it as carried in the dialect when it does not move the axes"},
      {"G21", "M77",
       "2:1+3 unknown-m-code: M77 is not a known code: what it does on the machine is not known | leave it "
       "out, or list it as carried in the dialect when the target machine has it too"},
      {"G21", "G5 X1 Y1",
       "2:1+2 spline-move: not understood yet: a spline move (G5); its path is not lines and arcs | post the "
       "program again with this feature switched off, so that every position is written out"},
      {"G21", "G5.1 Q1",
       "2:1+4 spline-move: not understood yet: a spline move or a control's smoothing mode (G5.1); controls "
       "disagree on what it does | when it is a smoothing mode that does not move the axes, list it as "
       "carried in the dialect"},
      {"G21", "G31 Z-5 F100",
       "2:1+3 skip-move: not understood yet: a skip move (G31); nobody knows where it ends | list it as "
       "carried in the dialect if the position is stated again afterwards"},
      {"G21", "G41.1 D3",
       "2:1+5 dynamic-compensation: not understood yet: cutter compensation by a diameter in D (G41.1); "
       "controls use the code for different things | use G41 with a tool table entry, or post the "
       "tool-centre path"},
      {"G21", "G43.4 H1",
       "2:1+5 tool-centre-point: not understood yet: tool centre point control (G43.4); the path depends on "
       "the rotary axes | post the pass as a three-axis program"},
      {"G21", "G44 H1",
       "2:1+3 negative-length-offset: not understood yet: a negative tool length offset (G44); the sign of "
       "the offset table would decide between air and a crash | use G43 with H"},
      {"G21", "G66 P9010",
       "2:1+3 macro-call: not understood yet: a modal macro call (G66); every block that follows would call "
       "another program | post the program with the moves written out"},
      {"G21", "G96 S100",
       "2:1+3 constant-surface-speed: not understood yet: constant surface speed (G96); it belongs to "
       "turning | give the speed in rpm (G97)"},
      {"G21", "M19",
       "2:1+3 oriented-stop: not understood yet: an oriented spindle stop (M19); not every machine has it | "
       "when the machine has it, list it as carried in the dialect"},
      {"G21", "M29 S300",
       "2:1+3 rigid-tapping: not understood yet: rigid tapping (M29); not every machine has it | when the "
       "machine has it, list it as carried in the dialect"},
      {"G21", "G-1 X1",
       "2:1+3 unknown-g-code: G-1 is not a known code: whether it moves the machine is not known | leave it "
       "out, or list it as carried in the dialect when it does not move the axes"},
      {"G21", "G1.05 X1",
       "2:1+5 unknown-g-code: G1.05 is not a known code: whether it moves the machine is not known | leave "
       "it out, or list it as carried in the dialect when it does not move the axes"},
  });
}

TEST_CASE("Refused: two users of axis words, or none") {
  check({
      {"G21", "X1",
       "2:1+2 no-motion-mode: axis words, but no motion mode is in force | say how to move: G0, G1, G2 or "
       "G3"},
      {"G0 X0", "G80 X1",
       "2:5+2 no-motion-mode: axis words beside G80: no motion mode is in force | say how to move: G0, G1, "
       "G2 or G3"},
      {"G0 X0", "G0 G92 X1",
       "2:4+3 two-users-of-axis-words: G0 and G92 both want the axis words of this block | put them on two "
       "lines"},
      {"G0 X0", "G1 G28 Z0",
       "2:4+3 two-users-of-axis-words: G1 and G28 both want the axis words of this block | put them on two "
       "lines"},
      {"G0 X0", "G4 P1 X2",
       "2:7+2 dwell-with-axis-words: G4 does not move, but the block has axis words | put the move on a line "
       "of its own"},
  });
}

TEST_CASE("Refused: a word with nothing to use it") {
  check({
      {"G0 X0", "H1",
       "2:1+2 word-without-user: H1 has nothing to use it: H names a tool length for G43 | leave it out, or "
       "add the code it belongs to"},
      {"G0 X0", "D1",
       "2:1+2 word-without-user: D1 has nothing to use it: D names a radius for G41 or G42 | leave it out, "
       "or add the code it belongs to"},
      {"G0 X0", "G1 X1 F100 I1",
       "2:12+2 word-without-user: I1 has nothing to use it: I, J and K belong to arcs (G2, G3) and to the "
       "cycles G76 and G87 | leave it out, or add the code it belongs to"},
      {"G0 X0", "X1 L2",
       "2:4+2 word-without-user: L2 has nothing to use it: L belongs to canned cycles, G10 and M98 | leave "
       "it "
       "out, or add the code it belongs to"},
      {"G0 X0", "X1 P1",
       "2:4+2 word-without-user: P1 has nothing to use it: P belongs to G4, G10, G54.1, G64, M98 and cycles "
       "with a "
       "dwell "
       "| leave it out, or add the code it belongs to"},
      {"G0 X0", "X1 Q1",
       "2:4+2 word-without-user: Q1 has nothing to use it: Q belongs to the cycles G73, G76 and G83 | leave "
       "it out, or add the code it belongs to"},
      {"G0 X0", "X1 R1",
       "2:4+2 word-without-user: R1 has nothing to use it: R belongs to arcs (G2, G3) and canned cycles | "
       "leave it out, or add the code it belongs to"},
      {"G0 X0", "X1 E1",
       "2:4+2 word-without-user: E1 has nothing to use it: E is not a word of the language | leave it out, "
       "or add the code it belongs to"},
      {"G0 X0", "G40 D1",
       "2:5+2 word-without-user: D1 has nothing to use it: D names a radius for G41 or G42 | leave it out, "
       "or add the code it belongs to"},
      {"G0 X0", "G49 H1",
       "2:5+2 word-without-user: H1 has nothing to use it: H names a tool length for G43 | leave it out, or "
       "add the code it belongs to"},
      {"G0 X0 Y0 Z5 F100", "G81 X1 Z-1 R1 Q2",
       "2:15+2 word-without-user: Q2 has nothing to use it: Q belongs to the cycles G73, G76 and G83 | leave "
       "it out, or add the code it belongs to"},
      {"G0 X0 Y0 Z5 F100", "G81 X1 Z-1 R1 I2",
       "2:15+2 word-without-user: I2 has nothing to use it: I, J and K belong to arcs (G2, G3) and to the "
       "cycles G76 and G87 | leave it out, or add the code it belongs to"},
      {"G0 X0 Y0 Z5 F100", "G82 X1 Z-1 R1 P2 G4",
       "2:15+2 word-with-two-users: two codes of this block want P2 | put one of them on a line of its own"},
  });
}

TEST_CASE("Refused: values out of range") {
  check({
      {"G21", "F-1", "2:1+3 negative-feed: the feed rate F-1 is negative | give F above 0"},
      {"G21", "S-1",
       "2:1+3 negative-speed: the spindle speed S-1 is negative | give S from 0 up and choose the direction "
       "with M3 or M4"},
      {"G21", "T-1",
       "2:1+3 whole-number-expected: a tool number must be a whole number from 0 to 99999999, found T-1 | "},
      {"G21", "T1.5",
       "2:1+4 whole-number-expected: a tool number must be a whole number from 0 to 99999999, found T1.5 | "},
      {"G21", "G4 P-1", "2:4+3 negative-dwell: the dwell time P-1 is negative | give a time from 0 up"},
      {"G21", "G64 P-0.1",
       "2:5+5 negative-tolerance: the path tolerance P-0.1 is negative | give a tolerance from 0 up"},
      {"G21", "G10 L2 P0 X1",
       "2:8+2 whole-number-expected: the work offset P of G10 must be a whole number from 1 to 9, found P0 "
       "| "},
      {"G21", "G10 L2 P10 X1",
       "2:8+3 whole-number-expected: the work offset P of G10 must be a whole number from 1 to 9, found P10 "
       "| "},
      {"G21", "G10 L2 P1.5 X1",
       "2:8+4 whole-number-expected: the work offset P of G10 must be a whole number from 1 to 9, found P1.5 "
       "| "},
      {"G21", "G43 H-1",
       "2:5+3 whole-number-expected: a tool table entry must be a whole number from 0 to 99999999, found H-1 "
       "| "},
      {"G21", "G43 H1.5",
       "2:5+4 whole-number-expected: a tool table entry must be a whole number from 0 to 99999999, found "
       "H1.5 | "},
      {"G21", "G41 D-1",
       "2:5+3 whole-number-expected: a tool table entry must be a whole number from 0 to 99999999, found D-1 "
       "| "},
      {"G21", "O1.5",
       "2:1+4 whole-number-expected: a program number must be a whole number from 0 to 99999999, found O1.5 "
       "| "},
      {"G21", "G0 X1234567.8",
       "2:4+10 length-out-of-range: X1234567.8 is longer than any machine | check for a missing decimal "
       "point"},
  });
}

TEST_CASE("Refused: codes without the words they need") {
  check({
      {"G21", "G4", "2:1+2 dwell-without-time: G4 without a time | write the time as P"},
      {"G21", "G10 L1 P1 X0",
       "2:5+2 g10-not-understood: only G10 L2 and L20 (the origin of a work offset) are understood | set "
       "other tables "
       "on the control"},
      {"G21", "G10 P1 X0",
       "2:1+3 g10-not-understood: only G10 L2 and L20 (the origin of a work offset) are understood | set "
       "other tables "
       "on the control"},
      {"G21", "G10 L2 X0",
       "2:1+3 g10-without-system: G10 L2 without P: which work offset is meant is not said | write P1 for "
       "G54 up to P9 for G59.3"},
      {"G91", "G10 L2 P1 X0",
       "2:1+3 g10-incremental: G10 with G91 in force: controls disagree on whether the values are added | "
       "write G90 in this block"},
      {"G21", "G43",
       "2:1+3 length-offset-without-index: G43 without H: which tool length is meant is not said | write the "
       "entry of the tool table, such as G43 H1"},
      {"G21", "G92", "2:1+3 g92-without-axes: G92 without axis words | name the axes and their new values"},
      {"G21", "G52", "2:1+3 g52-without-axes: G52 without axis words | name the axes and their shift"},
      {"G21", "M6",
       "2:1+2 tool-change-without-tool: M6 without a tool: no T word stands in this block or before it | "
       "write the tool number, such as T1 M6"},
      {"G0 X0", "G53", "2:1+3 machine-move-without-axes: G53 without axis words | name the axes that move"},
      {"G80", "G53 Z0",
       "2:1+3 machine-move-without-motion: G53 needs G0 or G1 in force | write G53 G0, or G53 G1 with a "
       "feed"},
      {"G99 F100", "G53 Z0",
       "2:1+3 machine-move-without-motion: G53 needs G0 or G1 in force | write G53 G0, or G53 G1 with a "
       "feed"},
      {"G0 X0 F100", "G91 G53 Z0",
       "2:5+3 machine-move-incremental: G53 names machine coordinates, but G91 is in force | write G90 in "
       "this block"},
      {"G0 X0 F100", "G38.2",
       "2:1+5 motion-without-axes: G38.2 without axis words | name the axes that move"},
      {"G0 X0 Y0 Z0", "G38.2 Z-5",
       "2:1+5 no-feed: a cutting move, but no feed rate is given | write F in this block or before it; a "
       "change of units or feed mode drops the old F"},
      {"G0 X0 Y0 Z0 F100", "G38.2 Z-0.2",
       "2:1+5 probe-too-near: a probe move must start more than 0.254 mm from its end point | start farther "
       "away"},
      {"G0 X0 Y0 Z0 F100", "G38.2 Z-5 A3",
       "2:11+2 probe-with-rotary-axis: a probe move with a rotary axis | probe along X, Y and Z only"},
      {"G93", "G38.2 Z-5 F100",
       "2:1+5 probe-with-inverse-time: a probe move with G93 in force | select G94 first"},
      {"G21", "G1 X1",
       "2:1+2 no-feed: a cutting move, but no feed rate is given | write F in this block or before it; a "
       "change of units or feed mode drops the old F"},
      {"G0 X0 F0", "G1 X1",
       "2:1+2 no-feed: a cutting move, but no feed rate is given | write F in this block or before it; a "
       "change of units or feed mode drops the old F"},
      {"G93", "G1 X1",
       "2:1+2 inverse-time-without-feed: no F in this block: with G93 every cutting move needs its own | add "
       "F as 1 over the minutes of the move"},
      {"G94", "G95 G1 X1 F0.1",
       "2:5+2 no-spindle-speed: feed per revolution (G95), but no spindle speed is given | write S before "
       "this block"},
      {"G21", "G91 G28 Z5",
       "2:9+2 home-via-unknown: Z5 counts from a position that no block before it has stated | go home "
       "straight with a 0, or state the position first"},
  });
}

TEST_CASE("Refused: arcs that cannot be") {
  check({
      {"G0 X0 Y0 F100", "G2 R5",
       "2:4+2 arc-without-end: an arc with R needs its end point in the plane | add X or Y"},
      {"G0 X0 Y0 F100", "G2 X0 Y0 R5",
       "2:10+2 radius-arc-closed: an arc with R ends where it starts: its centre could be anywhere | write a "
       "full circle with I, J and K"},
      {"G0 X0 Y0 F100", "G2 X10",
       "2:1+2 arc-without-centre: an arc without centre or radius | add I and J, or R"},
      {"G0 X0 Y0 F100", "G2 X10 R4",
       "2:8+2 radius-too-small: the end point is 10.0000 mm away, farther than twice the radius 4.0000 mm | "
       "check R and the end point"},
      {"G0 X0 Y0 F100", "G2 X10 R5 J1",
       "2:8+2 radius-and-centre: an arc with both a radius and a centre | leave R or I, J and K out"},
      {"G0 X0 Y0 F100", "G2 X10 Y1 I5",
       "2:11+2 arc-radius-mismatch: the arc does not end on its circle: radius 5.0000 mm at the start, "
       "5.0990 mm at the end (they may differ by 0.0020 mm) | check the end point and the centre"},
      {"G0 X0 Y0 F100", "G2 X10 I5 K2",
       "2:11+2 centre-outside-plane: K2 has no meaning for an arc in the XY plane | select the plane of the "
       "arc first: G17, G18 or G19"},
      {"G18 G0 X0 Z0 F100", "G2 X10 J5",
       "2:8+2 centre-outside-plane: J5 has no meaning for an arc in the XZ plane | select the plane of the "
       "arc first: G17, G18 or G19"},
      {"G0 X0 Y0 F100", "G3", "2:1+2 motion-without-axes: G3 without axis words | name the axes that move"},
      {"G0 X0 Y0", "G2 X10 I5",
       "2:1+2 no-feed: a cutting move, but no feed rate is given | write F in this block or before it; a "
       "change of units or feed mode drops the old F"},
      {"G0 X0 F100", "G2 X10 I5",
       "2:1+2 arc-start-unknown: an arc from an unknown Y: no block before it says where it starts | move to "
       "a stated Y first, with G0 or G1"},
  });
}

TEST_CASE("Refused: cycles that cannot be") {
  check({
      {"G0 X0 Y0 Z5 F100", "G81",
       "2:1+3 motion-without-axes: G81 without axis words | name the axes that move"},
      {"G0 X0 Y0 Z5 F100", "G81 R1",
       "2:1+3 motion-without-axes: G81 without axis words | name the axes that move"},
      {"G0 X0 Y0 Z5 F100", "G81 X1 R1",
       "2:1+3 cycle-word-missing: G81 needs Z, the bottom of the hole: it is neither in this block nor kept "
       "from one before | add Z"},
      {"G0 X0 Y0 Z5 F100", "G81 X1 Z-1",
       "2:1+3 cycle-word-missing: G81 needs R, the retract plane: it is neither in this block nor kept from "
       "one before | add R"},
      {"G0 X0 Y0 Z5 F100", "G82 X1 Z-1 R1",
       "2:1+3 cycle-word-missing: G82 needs P, the dwell: it is neither in this block nor kept from one "
       "before | add P"},
      {"G0 X0 Y0 Z5 F100", "G82 X1 Z-1 R1 P-1",
       "2:15+3 negative-dwell: the dwell time P-1 is negative | give a time from 0 up"},
      {"G0 X0 Y0 Z5 F100", "G83 X1 Z-1 R1",
       "2:1+3 cycle-word-missing: G83 needs Q, the peck: it is neither in this block nor kept from one "
       "before | add Q"},
      {"G0 X0 Y0 Z5 F100", "G83 X1 Z-1 R1 Q0",
       "2:15+2 peck-not-positive: the peck Q0 is not above zero | give Q as a depth above 0"},
      {"G0 X0 Y0 Z5 F100", "G83 X1 Z-1 R1 Q0.0001",
       "2:15+7 too-many-pecks: the hole would take 20001 pecks of 0.0001 mm | give Q as the depth of one "
       "peck"},
      {"G0 X0 Y0 Z5 F100", "G81 X1 Z-1 R1 L0",
       "2:15+2 stored-hole-with-position: L0 stores a hole without making it: controls disagree on whether "
       "the "
       "tool moves to the position given | give the position in the next block"},
      {"G0 X0 Y0 Z5 F100", "G81 X1 Z-1 R1 L1.5",
       "2:15+4 whole-number-expected: the repeats L of a cycle must be a whole number from 0 to 9999, found "
       "L1.5 | "},
      {"G0 X0 Y0 Z5 F100", "G81 X1 Z-1 R-2",
       "2:1+3 retract-below-bottom: the retract plane R lies below the bottom of the hole | check R and the "
       "bottom"},
      {"G0 X0 Y0 Z5 F100", "G91 G81 X1 Z1 R-2",
       "2:5+3 retract-below-bottom: the retract plane R lies below the bottom of the hole | with G91 the "
       "bottom counts from R and must not be positive"},
      {"G0 X0 Y0 Z5 F100", "G81 X1 Z-1 R1 A2",
       "2:15+2 cycle-with-rotary-axis: a canned cycle that moves a rotary or secondary axis | turn that axis "
       "in a block of its own"},
      {"G0 X0 Y0 Z5 G93", "G81 X1 Z-1 R1 F1",
       "2:1+3 cycle-with-inverse-time: a canned cycle with G93 in force | select G94 first"},
      {"G0 X0 Y0 Z5", "G81 X1 Z-1 R1",
       "2:1+3 no-feed: a cutting move, but no feed rate is given | write F in this block or before it; a "
       "change of units or feed mode drops the old F"},
      {"G0 X0 Y0 Z5 F100", "G84 X1 Z-1 R1",
       "2:1+3 tapping-without-spindle: G84 cuts a right-hand thread, but the spindle is not turning "
       "clockwise | start it with M3 first"},
      {"M4 G0 X0 Y0 Z5 F100", "G84 X1 Z-1 R1",
       "2:1+3 tapping-without-spindle: G84 cuts a right-hand thread, but the spindle is not turning "
       "clockwise | start it with M3 first"},
      {"G0 X0 Y0 Z5 F100", "G86 X1 Z-1 R1 P1",
       "2:1+3 boring-without-spindle: G86 stops and restarts the spindle, but it is not turning | start it "
       "with M3 or M4 first"},
      {"M3 G0 X0 Y0 Z5 F100", "G87 X1 Z-1 R1 I1 J0",
       "2:1+3 cycle-word-missing: G87 needs K, a shift of the bar: it is neither in this block nor kept from "
       "one before | add K"},
      {"G0 X0 Z5 F100", "G81 X1 Z-1 R1",
       "2:1+3 cycle-position-unknown: where the hole is along Y is not known: no block before this one has "
       "stated it | state Y in this block"},
      {"G0 X0 Y0 F100", "G81 X1 Z-1 R1",
       "2:1+3 cycle-level-unknown: the height Z before the cycle is not known, but the return to it (G98) "
       "needs it | move to a stated Z first, or return to R with G99"},
      {"G0 X0 Y0 F100", "G99 G91 G81 X1 Z-1 R1",
       "2:9+3 cycle-level-unknown: the height Z before the cycle is not known, but G91 needs it | move to a "
       "stated Z first, or return to R with G99"},
  });
}

TEST_CASE("Refused: what cutter compensation does not allow") {
  check({
      {"G41 D1", "G20",
       "2:1+3 not-under-compensation: G20 while cutter compensation is on | cancel compensation with G40 "
       "first"},
      {"G41 D1", "G18",
       "2:1+3 not-under-compensation: G18 while cutter compensation is on | cancel compensation with G40 "
       "first"},
      {"G41 D1", "G55",
       "2:1+3 not-under-compensation: G55 while cutter compensation is on | cancel compensation with G40 "
       "first"},
      {"G41 D1", "G28 Z0",
       "2:1+3 not-under-compensation: G28 while cutter compensation is on | cancel compensation with G40 "
       "first"},
      {"G41 D1", "G53 G0 Z0",
       "2:1+3 not-under-compensation: G53 while cutter compensation is on | cancel compensation with G40 "
       "first"},
      {"G41 D1", "G92 X0",
       "2:1+3 not-under-compensation: G92 while cutter compensation is on | cancel compensation with G40 "
       "first"},
      {"G41 D1", "G42 D1",
       "2:1+3 compensation-already-on: G42 while cutter compensation is already on | cancel compensation "
       "with G40 first"},
      {"G18", "G41 D1",
       "2:1+3 compensation-outside-xy: cutter compensation works in the XY plane only | select G17 first"},
      {"G41 D1 F100", "G38.2 Z-5",
       "2:1+5 not-under-compensation: G38.2 while cutter compensation is on | cancel compensation with G40 "
       "first"},
      {"G0 X0 Y0 Z5 F100 G41 D1", "G81 X1 Z-1 R1",
       "2:1+3 not-under-compensation: G81 while cutter compensation is on | cancel compensation with G40 "
       "first"},
  });
}

TEST_CASE("Refused to the letter of the standard only where the dialect asks for it") {
  interpret::ReadRules rules;
  rules.strict_layout = true;
  check(
      {
          {"G21", "G0", "2:1+2 motion-without-axes: G0 without axis words | name the axes that move"},
          {"G0 X0", "G80 G0 X1",
           "2:5+2 modal-group-conflict: G80 and G0 are both motion codes (G0 to G3, probing, cycles): a "
           "block takes one of them | put one of them on a line of its own"},
          {"G0 X0 Y0 F100", "G2 X10 I5 K0",
           "2:11+2 centre-outside-plane: K0 has no meaning for an arc in the XY plane | select the plane of "
           "the arc first: G17, G18 or G19"},
          {"G21", "O1234",
           "2:1+5 program-number: RS274/NGC has no program number (O) | leave the O word out"},
          {"G21", "N000009 G0 X1",
           "2:1+7 line-number-too-long: the line number has 6 digits, RS274/NGC takes 5 | number the program "
           "again from 1"},
          {"M3 G0 X0 Y0 Z5 F100", "G86 X1 Z-1 R1",
           "2:1+3 cycle-word-missing: G86 needs P, the dwell: it is neither in this block nor kept from one "
           "before | add P"},
      },
      rules);
}
