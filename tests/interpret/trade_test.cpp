// What shops' programs have and NISTIR 6556 does not, one row each: common practice, no source.
#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {

std::string coordinates(motion::Vec3 const& at) {
  std::string text;
  for (int axis = 0; axis < 3; ++axis)
    text += motion::is_known(at[axis]) ? fmt::format("{}{:g}", axis == 0 ? "" : ",", at[axis])
            : axis == 0                ? "?"
                                       : ",?";
  return text;
}

/// What a program does, in a few words: G0 1,2,3; G81 1,2,-3 to 5 ...
std::string told(std::string const& program, interpret::ReadRules const& rules = {}) {
  auto const reading = read(program, rules);
  std::string text;
  for (auto const& error : reading.errors())
    text += "error " + error.substr(0, error.find(':', error.find(' '))) + "; ";
  for (auto const& step : reading.steps) {
    std::string one;
    if (auto const* move = motion::motion_of(step))
      one = fmt::format("G{} {}{}", static_cast<int>(move->path), coordinates(move->to),
                        move->compensated ? " compensated" : "");
    else if (auto const* hole = std::get_if<motion::Cycle>(&step.event))
      one = fmt::format("G{} {} to {:g}", hole->code / 10, coordinates(hole->hole), hole->clear);
    else if (auto const* dwell = std::get_if<motion::Dwell>(&step.event))
      one = fmt::format("wait {:g}", dwell->seconds);
    else if (auto const* carried = std::get_if<motion::Carried>(&step.event))
      one = fmt::format("carried {}{}", carried->text, carried->motion_unknown ? " somewhere" : "");
    else if (auto const* probe = std::get_if<motion::Probe>(&step.event))
      one = fmt::format("G{:g} {}", probe->code / 10.0, coordinates(probe->to));
    else if (auto const* offset = std::get_if<motion::WorkOffset>(&step.event))
      one = fmt::format("offset {}", offset->system);
    else if (auto const* home = std::get_if<motion::Home>(&step.event))
      one = fmt::format("home {} via {}", home->axes, coordinates(home->via));
    else if (auto const* path = std::get_if<motion::PathControl>(&step.event))
      one = fmt::format("path {} {:g}", static_cast<int>(path->mode), path->tolerance);
    if (!one.empty()) text += one + "; ";
  }
  return text;
}

std::string const trade_start = "G21 G17 G90 G94 G98 F100\nG0 X0 Y0 Z5\n";
std::string const begun = "G0 0,0,5; ";

/// What stands behind a known start.
std::string after_start(std::string const& lines, interpret::ReadRules const& rules = {}) {
  auto const text = told(trade_start + lines + "\nM30\n", rules);
  auto const at = text.find(begun);
  return at == text.npos ? text : text.substr(0, at) + text.substr(at + begun.size());
}

} // namespace

TEST_CASE("trade: program numbers, remarks behind a semicolon, long line numbers, numbered block delete") {
  CHECK(told("O1234 (bell yoke)\nG0 X1 Y1 Z1 ; to the shoulder\nM30\n") == "G0 1,1,1; ");
  CHECK(told(":1234\nN1234567 G0 X1 Y1 Z1;\nM30\n") == "G0 1,1,1; ");
  CHECK(after_start("/G0 X1\n/3 G0 X2") == "G0 1,0,5; G0 2,0,5; ");
  interpret::ReadRules switched_on;
  switched_on.block_delete = true;
  CHECK(after_start("/G0 X1\n/3 G0 X2", switched_on) == "");
  CHECK(after_start("G0 X1 /Y2") == "error 3:7+1 misplaced-block-delete; ");
}

TEST_CASE("trade: subprograms, macros, loops") {
  CHECK(told("G0 X0 Y0 Z5\nM98 P7 L2\nM30\nO7\nG91 G0 X1\nG90\nM99\n") == "G0 0,0,5; G0 1,0,5; G0 2,0,5; ");
  CHECK(told("G0 X0 Y0 Z5\nM98 P20007\nM30\nO7\nG91 G0 X1\nG90\nM99\n") == "G0 0,0,5; G0 1,0,5; G0 2,0,5; ");
  CHECK(told("G0 X0 Y0 Z5\nM97 P70\nM30\nN70 G0 X1\nM99\n") == "G0 0,0,5; G0 1,0,5; ");
  CHECK(told("G0 X0 Y0 Z5\nG65 P7 A3.\nM30\nO7\nG0 X#1\nM99\n") == "G0 0,0,5; G0 3,0,5; ");
  CHECK(after_start("#1=1\nWHILE [#1 LE 2] DO 1\nG0 X#1\n#1=[#1+1]\nEND 1") == "G0 1,0,5; G0 2,0,5; ");
  CHECK(after_start("G66 P7") == "error 3:1+3 macro-call; ");
  CHECK(after_start("G67\nG0 X1") == "G0 1,0,5; ");
}

TEST_CASE("trade: what a parameter is set to needs no brackets") {
  CHECK(after_start("#1=2+3*4\nG0 X#1") == "G0 14,0,5; ");
  CHECK(after_start("#1=7\n#2=#1 - 2 G0 X3\nY#2") == "G0 3,0,5; G0 3,5,5; ");
  CHECK(after_start("#1=2**3**2/4 MOD 7 + 1\nG0 X#1") == "G0 3,0,5; ");
  CHECK(after_start("#1=SIN[30]*10 G0 X2\nX#1") == "G0 2,0,5; G0 5,0,5; ");
  CHECK(after_start("#1=1\nIF [#1 EQ 1] THEN #1=#1+8\nG0 X#1") == "G0 9,0,5; ");
  CHECK(after_start("#1=6\n#2=#1/3 (half of it)\nG0 X#2 Y-#2") == "G0 2,-2,5; ");
}

TEST_CASE("trade: least increments and units") {
  interpret::ReadRules counting;
  counting.count_without_point = true;
  CHECK(told("G21 G0 X10 Y10. Z1500\nM30\n", counting) == "G0 0.01,10,1.5; ");
  CHECK(told("G20 G0 X10 Y1. Z0\nM30\n", counting) == "G0 0.0254,25.4,0; ");
  CHECK(told("G70 G0 X1 Y1 Z1\nG71 X1\nM30\n") == "G0 25.4,25.4,25.4; G0 1,25.4,25.4; ");
}

TEST_CASE("trade: dwells in milliseconds and in X or U") {
  interpret::ReadRules milliseconds;
  milliseconds.dwell_in_milliseconds = true;
  CHECK(after_start("G4 P500", milliseconds) == "wait 0.5; ");
  CHECK(after_start("G4 P0.5") == "wait 0.5; ");
  CHECK(after_start("G4 X0.5\nG4 U2.") == "wait 0.5; wait 2; ");
}

TEST_CASE("trade: a dwell that looks like the other unit is pointed out, once") {
  auto const warnings = [](std::string const& lines, bool milliseconds) {
    interpret::ReadRules rules;
    rules.dwell_in_milliseconds = milliseconds;
    auto const reading = read(trade_start + lines + "\nM30\n", rules);
    std::string text;
    for (auto const& finding : reading.findings.all())
      text += fmt::format("{} {}: {} | {}; ", finding.line, finding.code, finding.message, finding.hint);
    return text;
  };
  std::string const check = " | check the unit: dwell_in_milliseconds of the dialect says which one it is; ";
  CHECK(warnings("G4 P500\nG4 P700", false) ==
        "3 dwell-unit: P500 is a dwell of 500 s here; a control that counts milliseconds waits 0.5 s" +
            check);
  CHECK(warnings("G82 X1 Z-1 R1 P250", false) ==
        "3 dwell-unit: P250 is a dwell of 250 s here; a control that counts milliseconds waits 0.25 s" +
            check);
  CHECK(warnings("G4 P0.5", true) ==
        "3 dwell-unit: P0.5 is a dwell of 0.0005 s here; a control that counts seconds waits 0.5 s" + check);
  CHECK(warnings("G4 P500.\nG4 P99\nG4 P0", false) == "");
  CHECK(warnings("G4 P500\nG4 P5\nG4 P0", true) == "");
}

TEST_CASE("trade: arcs with absolute centres, circles without an end, wide tolerances") {
  CHECK(after_start("G90.1 G2 X10 I5 J0\nG91.1") == "G2 10,0,5; ");
  CHECK(after_start("G2 I5") == "G2 0,0,5; ");
  CHECK(after_start("G2 X10.02 I5") == "error 3:11+2 arc-radius-mismatch; ");
  interpret::ReadRules wide;
  wide.arc_tolerance_mm = 0.05;
  CHECK(after_start("G2 X10.02 I5", wide) == "G2 10.02,0,5; ");
}

TEST_CASE("trade: smoothing modes, exact stops and path modes are carried where the dialect lists them") {
  interpret::ReadRules lists;
  lists.carried_g = {51, 80, 90, 620, 630};
  lists.carried_m = {19, 29};
  CHECK(
      after_start("G5.1 Q1\nG8 P1\nG9 G1 X1\nG62\nG63\nM19\nM29 S300", lists) ==
      "carried G5.1 Q1; carried G8 P1; carried G9; G1 1,0,5; carried G62; carried G63; carried M19; carried "
      "M29; ");
  CHECK(after_start("G9 G1 X1") == "error 3:1+2 unknown-g-code; ");
  CHECK(after_start("G61\nG64\nG64 P0.05") == "path 0 0; path 2 0; path 2 0.05; ");
}

TEST_CASE("trade: polar, turned, scaled and mirrored coordinates are worked out") {
  CHECK(after_start("G16\nG0 X10. Y90.\nG15") == "G0 0,10,5; ");
  CHECK(after_start("G68 X0 Y0 R90.\nG0 X10. Y0\nG69") == "G0 0,10,5; ");
  CHECK(after_start("G51 X0 Y0 Z0 P2.\nG0 X10. Y1. Z5.\nG50") == "G0 20,2,10; ");
  CHECK(after_start("G51.1 X0\nG0 X10. Y1.\nG50.1") == "G0 -10,1,5; ");
}

TEST_CASE(
    "trade: probes of every kind leave their axes unknown, skip moves only where the dialect lists them") {
  CHECK(after_start("G38.3 Z-5\nG0 X1") == "G38.3 0,0,-5; G0 1,0,?; ");
  CHECK(after_start("G38.4 Z-5") == "G38.4 0,0,-5; ");
  CHECK(after_start("G38.5 Z-5") == "G38.5 0,0,-5; ");
  CHECK(after_start("G31 Z-5") == "error 3:1+3 skip-move; ");
  interpret::ReadRules lists;
  lists.carried_g = {310};
  CHECK(after_start("G31 Z-5\nG0 X1", lists) == "carried G31 Z-5 somewhere; G0 1,?,?; ");
}

TEST_CASE("trade: compensation is followed as programmed, other kinds of it are refused by name") {
  CHECK(after_start("G41 D1\nG1 X1\nG40\nG1 X2 Y1\nX3") ==
        "G1 1,0,5 compensated; G1 2,1,5 compensated; G1 3,1,5; ");
  CHECK(after_start("G41.1 D3") == "error 3:1+5 dynamic-compensation; ");
  CHECK(after_start("G43.4 H1") == "error 3:1+5 tool-centre-point; ");
  CHECK(after_start("G44 H1") == "error 3:1+3 negative-length-offset; ");
}

TEST_CASE("trade: shifts and further work offsets are followed") {
  CHECK(after_start("G52 X10.\nG0 X0\nG52 X0\nG91 G0 X0") == "G0 0,0,5; G0 10,0,5; ");
  CHECK(after_start("G54.1 P3\nG0 X1 Y2\nG54.1 P3\nG0 Z3\nG54 P4\nG0 X1") ==
        "offset 12; G0 1,2,?; offset 12; G0 1,2,3; offset 13; G0 1,?,?; ");
  CHECK(
      read(trade_start + "G54.1\nM30\n").error() ==
      "3:1+5 work-offset-without-number: G54.1 without P: which work offset is meant is not said | write its "
      "number, such as G54.1 P1");
  CHECK(read(trade_start + "G54.1 P0\nM30\n").error() ==
        "3:7+2 whole-number-expected: the number P of a work "
        "offset must be a whole number from 1 to 300, found P0 "
        "| ");
  CHECK(after_start("G54.1 P3 G4") == "error 3:7+2 word-with-two-users; ");
  CHECK(after_start("G54 G4 P3") == "wait 3; offset 1; ");
  CHECK(after_start("G92 S2000") == "error 3:1+3 g92-without-axes; ");
}

TEST_CASE("trade: other tables than the work offsets are refused for what they are, turned ones too") {
  CHECK(after_start("G10 L11 P1 R0.") == "error 3:5+3 g10-not-understood; ");
  CHECK(after_start("G10 P1 R5.") == "error 3:1+3 g10-not-understood; ");
  CHECK(after_start("G10 L2 P1 X0 R30.") == "error 3:14+4 word-without-user; ");
}

TEST_CASE("trade: G73, G74 and G76 are cycles") {
  CHECK(after_start("G73 X1 Z-3 R2 Q1") == "G73 1,0,-3 to 5; ");
  CHECK(after_start("G74 X1 Z-3 R2") == "G74 1,0,-3 to 5; ");
  CHECK(after_start("G76 X1 Z-3 R2 Q0.1") == "G76 1,0,-3 to 5; ");
}

TEST_CASE("trade: L0 stores a hole for the blocks that follow, K repeats where the dialect says so") {
  CHECK(after_start("G99 G81 Z-3 R2 L0\nX1\nX2 Y1") == "G81 1,0,-3 to 2; G81 2,1,-3 to 2; ");
  CHECK(read(trade_start + "G81 X1 Z-3 R2 L0\nM30\n").error() ==
        "3:15+2 stored-hole-with-position: L0 stores a hole without making it: controls disagree on whether "
        "the "
        "tool moves to the position given | give the position in the next block");
  CHECK(after_start("G81 Z-3 R2 K2") == "error 3:12+2 word-without-user; ");
  interpret::ReadRules shop;
  shop.repeats_in_k = true;
  CHECK(after_start("G91 G81 X1 Z-3 R-3 K2\nG90", shop) == "G81 1,0,-1 to 5; G81 2,0,-1 to 5; ");
  CHECK(after_start("G81 Z-3 R2 K0\nX1", shop) == "G81 1,0,-3 to 5; ");
  CHECK(after_start("G81 X1 Z-3 R2 L2", shop) == "error 3:15+2 word-without-user; ");
  CHECK(read(trade_start + "G81 X1 Z-3 R2 K1.5\nM30\n", shop).error() ==
        "3:15+4 whole-number-expected: the repeats K of a cycle must be a whole number from 0 to 9999, found "
        "K1.5 | ");
}

TEST_CASE("trade: the height that G98 returns to is kept until G80, or taken anew by the standard") {
  std::string const lines = "G98 G81 X1 Z-3 R2\nG99 X2\nG98 X3\nG80";
  CHECK(after_start(lines) == "G81 1,0,-3 to 5; G81 2,0,-3 to 2; G81 3,0,-3 to 5; ");
  interpret::ReadRules standard;
  standard.initial_level_sticky = false;
  CHECK(after_start(lines, standard) == "G81 1,0,-3 to 5; G81 2,0,-3 to 2; G81 3,0,-3 to 2; ");
}

TEST_CASE("trade: a home move sends the axes home that are named, or all of them by the standard") {
  CHECK(after_start("G91 G28 Z0\nG90 G0 X1") == "home 4 via ?,?,5; G0 1,0,?; ");
  interpret::ReadRules standard;
  standard.home_moves_all_axes = true;
  CHECK(after_start("G91 G28 Z0\nG90 G0 X1", standard) == "home 7 via ?,?,5; G0 1,?,?; ");
}

TEST_CASE("trade: feed per revolution needs a speed, surface speed belongs to turning") {
  CHECK(after_start("S1000 M3\nG95 G1 X1 F0.1") == "G1 1,0,5; ");
  CHECK(after_start("G95 G1 X1 F0.1") == "error 3:5+2 no-spindle-speed; ");
  CHECK(after_start("G97 S1000 M3") == "");
  CHECK(after_start("G96 S100") == "error 3:1+3 constant-surface-speed; ");
}
