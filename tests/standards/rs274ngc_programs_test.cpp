// The complete programs that NISTIR 6556 ("The NIST RS274NGC Interpreter - Version 3", 17 Aug 2000) prints:
// table 6, tables 12 and 13 (which need a head and an end), appendices C.1, C.2 and C.3. The words are the
// report's; remarks that mean nothing to a test are left out.
#include "../interpret/read_program.hpp"
#include "motion/arc.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <map>
#include <sstream>

using namespace restep;
using test::read;

namespace {

/// As the report's own interpreter reads: to the letter, the level of G98 taken anew in each block.
interpret::ReadRules rules_of_programs() {
  interpret::ReadRules rules;
  rules.strict_layout = true;
  rules.initial_level_sticky = false;
  return rules;
}

std::vector<std::string> lines_of(std::string const& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  return lines;
}

constexpr char const* greeting = R"((this program mills two words between X=0 and X=81 millimeters)
n0010 g21 g0 x0 y0 z50 (top of part should be on XY plane)
n0020 t1 m6 m3 f20 s4000 (use an engraver or small ball-nose endmill)
n0030 g0 x0 y0 z2
n0040 g1 z-0.5 (start H)
n0050 y10
n0060 g0 z2
n0070 y5
n0080 g1 z-0.5
n0090 x 7
n0100 g0 z2
n0110 y0
n0120 g1 z-0.5
n0130 y10
n0140 g0 z2
n0150 x11 y2.5
n0160 g1 z-0.5 (start e)
n0170 x16
n0190 g3 x13.5 y0 i-2.5
n0200 g1 x16
n0210 g0 z2
n0220 x20 y0
n0230 g1 z-0.5 (start l)
n0240 y9
n0250 g0 z2
n0260 x26
n0270 g1 z-0.5 (start l)
n0280 y0
n0290 g0 z2
n0300 x32.5
n0310 g1 z-0.5 (start o)
n0320 g2 x32.5 j2.5
n0330 g0 z2
n0340 x45 y5
n0350 g1 z-0.5 (start w)
n0360 x47 y0
n0370 x48.5 y3
n0380 x50 y0
n0390 x52 y5
n0400 g0 z2
n0410 x57.5 y0
n0420 g1 z-0.5 (start o)
n0430 g2 x57.5 j2.5
n0440 g0 z2
n0450 x64
n0460 g1 z-0.5 (start r)
n0470 y5
n0480 y4
n0490 g2 x69 r4
n0500 g0 z2
n0510 x73 y0
n0520 g1 z-0.5 (start l)
n0530 y9
n0540 g0 z2
n0550 x81
n0560 g1 z-0.5 (start d)
n0570 y0
n0580 x79.5
n0590 g2 j2.5 y5
n0600 g1 x81
n0610 g0 z50
n0620 m2
)";

constexpr char const* expressions = R"(n0010 g21 g1 x3 f20 (expression test)
n0020 x [1 + 2] (x should be 3)
n0030 x [1 - 2] (x should be -1)
n0040 x [1 --3] (x should be 4)
n0050 x [2/5] (x should be 0.40)
n0060 x [3.0 * 5] (x should be 15)
n0070 x [0 OR 0] (x should be 0)
n0080 x [0 OR 1] (x should be 1)
n0090 x [2 or 2] (x should be 1)
n0100 x [0 AND 0] (x should be 0)
n0110 x [0 AND 1] (x should be 0)
n0120 x [2 and 2] (x should be 1)
n0130 x [0 XOR 0] (x should be 0)
n0140 x [0 XOR 1] (x should be 1)
n0150 x [2 xor 2] (x should be 0)
n0160 x [15 MOD 4.0] (x should be 3)
n0170 x [1 + 2 * 3 - 4 / 5] (x should be 6.2)
n0180 x sin[30] (x should be 0.5)
n0190 x cos[0.0] (x should be 1.0)
n0200 x tan[60.0] (x should be 1.7321)
n0210 x sqrt[3] (x should be 1.7321)
n0220 x atan[1.7321]/[1.0] (x should be 60.0)
n0230 x asin[1.0] (x should be 90.0)
n0240 x acos[0.707107] (x should be 45.0000)
n0250 x abs[20.0] (x should be 20)
n0260 x abs[-1.23] (x should be 1.23)
n0270 x round[-0.499] (x should be 0)
n0280 x round[-0.5001] (x should be -1.0)
n0290 x round[2.444] (x should be 2)
n0300 x round[9.975] (x should be 10)
n0310 x fix[-0.499] (x should be -1.0)
n0320 x fix[-0.5001] (x should be -1.0)
n0330 x fix[2.444] (x should be 2)
n0340 x fix[9.975] (x should be 9)
n0350 x fup[-0.499] (x should be 0.0)
n0360 x fup[-0.5001] (x should be 0.0)
n0370 x fup[2.444] (x should be 3)
n0380 x fup[9.975] (x should be 10)
n0390 x exp[2.3026] (x should be 10)
n0400 x ln[10.0] (x should be 2.3026)
n0410 x [2 ** 3.0] #1=2.0 (x should be 8.0)
n0420 ##1 = 0.375 (#1 is 2, so parameter 2 is set to 0.375)
n0430 x #2 (x should be 0.375) #3=7.0
n0440 #3=5.0 x #3 (x should be 7, not 5)
n0450 x #3 #3=1.1 (x should be 5, not 1.1)
n0460 x [2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]
n0470 x sqrt[3**2 + 4**2] (x should be 5.0)
n0480 m2
)";

constexpr char const* cycles = R"(n0010 g20 (cycle test)
n0020 g17 g43 h1 m3 s1234 f16 (start in XY-plane)
g0 x0 y0 z0 (not in the report, where the machine says where it stands)
n0030 g81 x3 y4 r0.2 z-1.1
n0040     x1 y0 r0 g91 l3
n0050     y-2 r0.1
n0060 g82 g90 x4 y5 r0.2 z-1.1 p0.6
n0070     x2 z-3.0
n0080     g91 x-2 y2 r0 l4
n0090 g83 g90 x5 y6 r0.2 z-1.1 q0.21
n0100 g84 x6 y7 r0.2 z-1.1
n0110 g85 x7 y8 r0.2 z-1.1
n0120 g86 x8 y9 r0.2 z-1.1 p902.61
n0130 g87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3
n0135     g91 x1 r0.2 z-1.1 i0.231 j-0 k-3
n0140 g88 x10 y11 r0.2 z-1.1 p0.3333
n0150 g89 x11 y12 r0.2 z-1.1 p1.272
n0160 m4 (run spindle counterclockwise)
n0170 g86 x8 y9 r0.2 z-1.1 p902.61
n0180 g87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3
n0190 g88 x10 y11 r0.2 z-1.1 p0.3333

n0220 g18 m3 (now run all cycles in the XZ-plane)
n0230 g81 z3 x4 r0.2 y-1.1
n0240     g91 z1 x0 r0 l3
n0260 g82 g90 z4 x5 r0.2 y-1.1 p0.6
n0280     g91 z-2 x2 r0 l4
n0290 g83 g90 z5 x6 r0.2 y-1.1 q0.21
n0300 g84 z6 x7 r0.2 y-1.1
n0310 g85 z7 x8 r0.2 y-1.1
n0320 g86 z8 x9 r0.2 y-1.1 p902.61
n0330 g87 z9 x10 r0.2 y-1.1 k0.231 i-0 j-3
n0335     g91 z1 r0.2 y-1.1 k0.231 i-0 j-3
n0340 g88 z10 x11 r0.2 y-1.1 p0.3333
n0350 g89 z11 x12 r0.2 y-1.1 p1.272

n0420 g19 (now run all cycles in the YZ-plane)
n0430 g81 y3 z4 r0.2 x-1.1
n0440     g91 y1 z0 r0 l3
n0460 g82 g90 y4 z5 r0.2 x-1.1 p0.6
n0480     g91 y-2 z2 r0 l4
n0490 g83 g90 y5 z6 r0.2 x-1.1 q0.21
n0500 g84 y6 z7 r0.2 x-1.1
n0510 g85 y7 z8 r0.2 x-1.1
n0520 g86 y8 z9 r0.2 x-1.1 p902.61
n0530 g87 y9 z10 r0.2 x-1.1 j0.231 k-0 i-3
n0535     g91 y1 r0.2 x-1.1 j0.231 k-0 i-3
n0540 g88 y10 z11 r0.2 x-1.1 p0.3333
n0550 g89 y11 z12 r0.2 x-1.1 p1.272

n1000 m2 (the end)
)";

/// "G81 (3,4,-1.1) R0.2 to 0.2": the hole's position with its bottom, the retract plane and where it ends.
std::string hole(double code, std::array<double, 3> const& at, double retract, double clear) {
  auto const plain = [](double value) { return std::round(value * 1e4) / 1e4 + 0.0; };
  return fmt::format("G{:g} ({:.4f},{:.4f},{:.4f}) R{:.4f} to {:.4f}", code, plain(at[0]), plain(at[1]),
                     plain(at[2]), plain(retract), plain(clear));
}

/// The holes of `cycles`, worked out from its words by 3.5.16 alone: plain letters and numbers, one pass.
std::vector<std::string> holes_by_hand(std::string const& program) {
  std::vector<std::string> holes;
  std::array<double, 3> at{0, 0, 0};
  std::map<char, double> kept; // R and the bottom of the cycle in force
  double code = 0;
  int normal = 2;
  bool incremental = false;
  for (std::string line : lines_of(program)) {
    line.erase(std::min(line.find('('), line.size()));
    std::map<char, double> words;
    double asked = code;
    for (char const* next = line.c_str(); *next != '\0';) {
      char const letter = *next++;
      if (letter < 'a' || letter > 'z') continue;
      char* end = nullptr;
      double const value = std::strtod(next, &end);
      next = end;
      if (letter != 'g') words[letter] = value;
      if (letter == 'g' && value >= 81 && value <= 89) asked = value;
      if (letter == 'g' && value >= 17 && value <= 19) normal = value == 17 ? 2 : value == 18 ? 1 : 0;
      if (letter == 'g' && (value == 90 || value == 91)) incremental = value == 91;
    }
    bool const has_axis = words.count('x') + words.count('y') + words.count('z') != 0;
    if (asked == 0 || !has_axis) continue;
    if (asked != code) kept.clear();
    code = asked;
    auto const take = [&](char letter) {
      if (words.count(letter) != 0) kept[letter] = words[letter];
      return kept.at(letter);
    };
    char const height = static_cast<char>('x' + normal);
    auto const n = static_cast<std::size_t>(normal);
    double const before = at[n];
    double const retract = take('r') + (incremental ? before : 0);
    double const bottom = take(height) + (incremental ? retract : 0);
    double const clear = std::max(before, retract);
    double const repeats = words.count('l') != 0 ? words['l'] : 1;
    for (int i = 0; i < repeats; ++i) {
      for (std::size_t axis = 0; axis < 3; ++axis) {
        char const letter = static_cast<char>('x' + static_cast<int>(axis));
        if (axis != n && words.count(letter) != 0) at[axis] = words[letter] + (incremental ? at[axis] : 0);
      }
      at[n] = bottom;
      holes.push_back(hole(code, at, retract, clear));
    }
    at[n] = clear;
  }
  return holes;
}

} // namespace

TEST_CASE("Appendix C.1: the whole program") {
  auto const reading = read(greeting, rules_of_programs());
  CHECK(reading.errors().empty());
  CHECK(test::order_of(reading.steps, 3) == "comment, speed, tool, tool change, spindle");
  auto const motions = reading.motions();
  // n0010 to n0610 without n0020, and the report has no n0180.
  REQUIRE(motions.size() == 59);
  std::vector<double> turns;
  for (auto const& move : motions) {
    CHECK(move.to.x >= 0);
    CHECK(move.to.x <= 81);
    CHECK((move.to.z == 50 || move.to.z == 2 || move.to.z == -0.5));
    if (move.path == motion::PathKind::rapid) CHECK(move.to.z >= 2);
    if (motion::is_cutting(move)) CHECK(move.feed == 20);
    if (motion::is_cutting(move)) CHECK(move.to.z == -0.5);
    if (motion::is_arc(move)) turns.push_back(geometry::degrees(motion::sweep(move)));
  }
  // Two full circles; the angles by our own arithmetic.
  REQUIRE(turns.size() == 5);
  double const expected[] = {270, 360, 360, 77.364375, 180};
  for (std::size_t i = 0; i < 5; ++i)
    CHECK(turns[i] == Approx(expected[i]).margin(5e-7));
  CHECK(reading.position == motion::Vec3{81, 5, 50});
  CHECK(reading.last<motion::Stop>().kind == motion::StopKind::end);
}

TEST_CASE("Appendix C.2: every X of the whole program is what its own remark says") {
  auto const reading = read(expressions, rules_of_programs());
  CHECK(reading.errors().empty());
  std::map<std::uint32_t, double> x;
  for (auto const& step : reading.steps)
    if (auto const* move = motion::motion_of(step)) x[step.place.line] = move->to.x;
  int compared = 0;
  auto const lines = lines_of(expressions);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    std::string const says = "(x should be ";
    auto const at = lines[i].find(says);
    if (at == std::string::npos) continue;
    INFO(lines[i]);
    // Printed to five digits or so.
    CHECK(x.at(static_cast<std::uint32_t>(i + 1)) ==
          Approx(std::strtod(lines[i].c_str() + at + says.size(), nullptr)).epsilon(3e-5).margin(1e-9));
    ++compared;
  }
  CHECK(compared == 44);
  CHECK(x.at(46) == Approx(2.0005450779).epsilon(0).margin(1e-9)); // n0460: our own arithmetic
}

TEST_CASE("Appendix C.3: every hole of the whole program, in all three planes") {
  auto const reading = read(cycles, rules_of_programs());
  CHECK(reading.errors().empty());
  std::vector<std::string> holes;
  for (auto const& cycle : reading.all<motion::Cycle>())
    holes.push_back(hole(cycle.code / 10.0, {cycle.hole.x / 25.4, cycle.hole.y / 25.4, cycle.hole.z / 25.4},
                         cycle.retract / 25.4, cycle.clear / 25.4));
  CHECK(holes.size() == 56);
  CHECK(holes == holes_by_hand(cycles));
  std::map<int, int> of_plane;
  for (auto const& cycle : reading.all<motion::Cycle>()) {
    ++of_plane[static_cast<int>(cycle.plane)];
    if (cycle.code == 860) CHECK(cycle.dwell == Approx(902.61));
    if (cycle.code == 880) CHECK(cycle.dwell == Approx(0.3333));
    if (cycle.code == 890) CHECK(cycle.dwell == Approx(1.272));
    if (cycle.code == 830) CHECK(cycle.peck == Approx(0.21 * 25.4));
  }
  CHECK(of_plane.size() == 3);
}

TEST_CASE("Table 6: the probing routine is carried where only the probe knows, and refused unfilled") {
  std::string const routine = "N110 G0 X#1001 Y#1002\n"
                              "N120 G0 Z#1003\n"
                              "N130 G38.2 X[#1001 + #1005]\n"
                              "N140 #1011=#5061\n"
                              "N150 G0 X#1001 Y#1002\n"
                              "N160 G38.2 X[#1001 - #1005]\n"
                              "N170 #1021=[[#1011 + #5061] / 2.0]\n"
                              "N180 G0 X#1021 Y#1002\n"
                              "N190 G38.2 Y[#1002 + #1005]\n"
                              "N200 #1012=#5062\n"
                              "N210 G0 X#1021 Y#1002\n"
                              "N220 G38.2 Y[#1002 - #1005]\n"
                              "N230 #1022=[[#1012 + #5062] / 2.0]\n"
                              "N240 #1014=[#1012 - #5062 + [2 * #1004]]\n"
                              "N250 G0 X#1021 Y#1022\n"
                              "N260 G38.2 X[#1021 + #1005]\n"
                              "N270 #1031=#5061\n"
                              "N280 G0 X#1021 Y#1022\n"
                              "N290 G38.2 X[#1021 - #1005]\n"
                              "N300 #1041=[[#1031 + #5061] / 2.0]\n"
                              "N310 #1024=[#1031 - #5061 + [2 * #1004]]\n"
                              "N320 #1034=[[#1014 + #1024] / 2.0]\n"
                              "N330 #1035=[#1024 - #1014]\n"
                              "N340 G0 X#1041 Y#1022\n"
                              "N350 M2\n";
  std::string const filled = "N050 G0 Z 20 F 100\nN060 #1001=10\nN070 #1002=20\nN080 #1003=-5\nN090 #1004=1\n"
                             "N100 #1005=[12/2.0 - #1004]\n";
  auto const reading = read(filled + routine);
  CAPTURE(reading.errors());
  CHECK(reading.error_codes().empty());
  auto const probes = reading.all<motion::Probe>();
  REQUIRE(probes.size() >= 4);
  CHECK(probes[0].to.x == 15);
  CHECK(probes[1].to.x == 5);
  CHECK(probes[2].to.y == 25);
  CHECK(probes[3].to.y == 15);
  auto const unfilled = read("N050 G0 Z <Z-value of retracted position> F <feed rate>\n"
                             "N060 #1001=<nominal X-value of hole center>\nM2\n");
  CHECK(unfilled.error_codes().size() == 2);
}

TEST_CASE("Tables 12 and 13: the nominal path runs half a unit outside the edge of the part") {
  std::string const head = "g21 g90 g17 g94\nt1 m6 m3 s1000 f100\ng0 x0 y5 z0\n";
  auto const edge =
      read(head + "N0010 G1 X1 Y5\nN0020 G41 G1 Y4\nN0030 G3 X2 Y3 I1\nN0040 G2 X3 Y2 J-1\nN0050 G1 Y-1\n"
                  "N0060 G2 X2 Y-2 I-1\nN0070 G1 X-2\nN0080 G2 X-2.6 Y-0.2 J1\nN0090 G1 X1.4 Y2.8\n"
                  "N0100 G2 X2 Y3 I0.6 J-0.8\nN0110 G40\nm2\n",
           rules_of_programs());
  auto const path =
      read(head + "N0010 G1 X1.5 Y5\nN0020 G41 G1 Y4\nN0030 G3 X2 Y3.5 I0.5\nN0040 G2 X3.5 Y2 J-1.5\n"
                  "N0050 G1 Y-1\nN0060 G2 X2 Y-2.5 I-1.5\nN0070 G1 X-2\nN0080 G2 X-2.9 Y0.2 J1.5\n"
                  "N0090 G1 X1.1 Y3.2\nN0100 G2 X2 Y3.5 I0.9 J-1.2\nN0110 G40\nm2\n",
           rules_of_programs());
  CHECK(edge.errors().empty());
  CHECK(path.errors().empty());
  auto const a = edge.motions();
  auto const b = path.motions();
  REQUIRE(a.size() == 11);
  REQUIRE(b.size() == 11);
  CHECK_FALSE(a[1].compensated);
  for (std::size_t i = 2; i < 11; ++i) {
    CHECK(a[i].compensated);
    CHECK(b[i].compensated);
  }
  // The contour: N0040 to N0100, closed where the entry arc has led.
  CHECK(a[10].to == a[3].to);
  CHECK(b[10].to == b[3].to);
  for (std::size_t i = 4; i < 11; ++i) {
    INFO(i);
    CHECK(a[i].path == b[i].path);
    CHECK(geometry::distance(a[i].to, b[i].to) == Approx(0.5).margin(1e-9));
    if (!motion::is_arc(a[i])) continue;
    CHECK(geometry::distance(a[i].centre, b[i].centre) == Approx(0).margin(1e-9));
    CHECK(motion::radius(a[i]) == Approx(1).margin(1e-9));
    CHECK(motion::radius(b[i]) == Approx(1.5).margin(1e-9));
  }
}
