// How the switches of a dialect spell the same program. That they all mean the same is the matter of
// tests/proof/feature_matrix_test.cpp.

#include "motion/arc.hpp"
#include "program.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>
#include <random>
#include <string>

using namespace restep;
using namespace restep::dialect_test;
using dialect::ArcSplit;
using dialect::Dialect;

namespace {

/// The program in the full dialect with some switches turned, written afresh, behind its first two lines (the
/// modes and the first place).
template <typename Turn>
std::string spelled(std::string const& program, Turn&& turn) {
  Dialect to = shipped("rs274ngc");
  to.name = "turned";
  turn(to);
  auto const written = rewrite("G21 G90\nG0 X0 Y0 Z5\n" + program, shipped("rs274ngc"), to);
  CHECK(written.errors() == "");
  auto const first = written.text.find('\n');
  return written.text.substr(written.text.find('\n', first + 1) + 1);
}

int count(std::string_view text, std::string_view what) {
  int found = 0;
  for (auto at = text.find(what); at != std::string_view::npos; at = text.find(what, at + 1))
    ++found;
  return found;
}

} // namespace

TEST_CASE("a control that counts increments gets whole numbers of its last digit", "[spelling]") {
  auto const counts = [](Dialect& d) {
    d.decimals_mm = 3;
    d.count_increments = d.read.count_without_point = true;
  };
  CHECK(spelled("G1 X10.5 Y-0.002 F120\nG2 X15.5 Y-5.002 J-5\n", counts) ==
        "G1 X10500 Y-2 F120\nG2 X15500 Y-5002 J-5000\n");
  CHECK(spelled("G0 X0 Y1\nX2\n", counts) == "Y1000\nX2000\n");
}

TEST_CASE("a letter may have digits of its own", "[spelling]") {
  CHECK(spelled("G1 X1.23456 Z4.98765 F50\n", [](Dialect& d) {
          d.decimals_mm = 2;
          d.letters_mm['Z'] = 5;
        }) == "G1 X1.23 Z4.98765 F50\n");
}

TEST_CASE("the digits of a position are those of its coarsest letter", "[spelling]") {
  Dialect d;
  d.letters_mm['Z'] = 2;
  d.letters_mm['I'] = d.letters_mm['J'] = d.letters_mm['K'] = 1;
  CHECK(d.resolution(motion::Units::mm) == Approx(0.01));
  CHECK(d.arc_resolution(motion::Units::mm) == Approx(0.1));
  CHECK(d.resolution(motion::Units::inch) == Approx(25.4e-5));
}

TEST_CASE("plus signs stand before lengths alone", "[spelling]") {
  CHECK(spelled("S900 M3\nG1 X1 Y-1 F50\n", [](Dialect& d) { d.plus_sign = true; }) ==
        "S900 M3\nG1 X+1 Y-1 F50\n");
}

TEST_CASE("words stand in the order that the control wants", "[spelling]") {
  auto const order = [](Dialect& d) { d.word_order = "GZYXFMS"; };
  CHECK(spelled("S900 M3\nG1 X1 Y-1 Z3 F50\nG43 H2\n", order) == "M3 S900\nG1 Z3 Y-1 X1 F50\nG43 H2\n");
}

TEST_CASE("codes, axes and feeds are said again where the control forgets them", "[spelling]") {
  std::string const program = "G1 X1 F50\nX2\nY3\n";
  CHECK(spelled(program, [](Dialect& d) { d.repeat_codes = true; }) == "G1 X1 F50\nG1 X2\nG1 Y3\n");
  CHECK(spelled(program, [](Dialect& d) { d.repeat_axes = true; }) ==
        "G1 X1 Y0 Z5 F50\nX2 Y0 Z5\nX2 Y3 Z5\n");
  CHECK(spelled(program, [](Dialect& d) { d.repeat_feed = true; }) == "G1 X1 F50\nX2 F50\nY3 F50\n");
}

TEST_CASE("moves of an incremental control are distances, from an unknown place they are absolute",
          "[spelling]") {
  auto const distances = [](Dialect& d) { d.incremental_moves = true; };
  CHECK(spelled("G1 X10 Y5 F50\nX12\nG2 X17 Y0 J-5\nG0 Z9\n", distances) ==
        "G91 G1 X10 Y5 F50\nX2\nG2 X5 Y-5 J-5\nG0 Z4\n");
  CHECK(spelled("G1 X10 F50\nG81 X12 Y1 Z-1 R2\nG80\nG0 X14\n", distances) ==
        "G91 G1 X10 F50\nG90 G98 G81 X12 Y1 Z-1 R2\nG80\nG91 G0 X2\n");
  Dialect to = shipped("rs274ngc");
  to.name = "turned";
  distances(to);
  CHECK(rewrite("G21 G90\nG0 X1 Y1\nG1 Z2 F50\nZ1\n", shipped("rs274ngc"), to).text ==
        "G17 G21 G80 G90 G94\nG0 X1 Y1\nG1 Z2 F50\nG91 Z-1\n");
}

TEST_CASE("what the digits of one distance leave out, the next makes good", "[spelling]") {
  CHECK(spelled("G1 X0.004 F50\nX0.008\nX0.012\nX0.016\n", [](Dialect& d) {
          d.incremental_moves = true;
          d.decimals_mm = 2;
        }) == "G91 G1 X0.01 F50\nX0.01\n");
}

TEST_CASE("line numbers may stand at tool changes alone", "[spelling]") {
  CHECK(spelled("T4 M6\nG0 X1 Z9\nT2 M6\nG0 X2 Z8\n", [](Dialect& d) {
          d.line_numbers = true;
          d.numbered = dialect::NumberedBlocks::tool_changes;
        }) == "N10 T4 M6\nX1 Y0 Z9\nN20 T2 M6\nX2 Y0 Z8\n");
}

TEST_CASE("remarks have the control's characters and its capitals", "[spelling]") {
  CHECK(spelled("(bell #4: 50% done)\nG0 X1\n", [](Dialect& d) {
          d.comment_characters = ":.";
          d.upper_case_comments = true;
        }) == "(BELL  4: 50  DONE)\nX1\n");
}

TEST_CASE("no arc block of a control that drives quadrants goes beyond a quadrant's border", "[spelling]") {
  auto const text =
      spelled("G1 X10 F90\nG3 X10 Y0 I-8 J0\n", [](Dialect& d) { d.arc_split = ArcSplit::quadrants; });
  CHECK(text == "G1 X10 F90\nG3 X2 Y8 I-8\nX-6 Y0 J-8\nX2 Y-8 I8\nX10 Y0 J8\n");
}

TEST_CASE("an arc that leaves a quadrant by less than its digits is one block", "[spelling]") {
  auto const quadrants = [](Dialect& d) {
    d.decimals_mm = 3;
    d.arc_split = ArcSplit::quadrants;
  };
  CHECK(spelled("G1 X10 F90\nG2 X9.0235 Y0.9765 I0 J0.9761\n", quadrants) ==
        "G1 X10 F90\nG2 X9.024 Y0.977 I0.001 J0.977\n");
}

TEST_CASE("an arc of more than a half circle is two for a control that drives halves", "[spelling]") {
  auto const halves = [](Dialect& d) { d.arc_split = ArcSplit::halves; };
  CHECK(spelled("G1 X10 F90\nG2 X0 Y10 I-10 J0\n", halves) ==
        "G1 X10 F90\nG2 X-7.0711 Y-7.0711 I-10\nX0 Y10 I7.0711 J7.0711\n");
  CHECK(spelled("G1 X10 F90\nG3 X-10 Y0 I-10 J0\n", halves) == "G1 X10 F90\nG3 X-10 I-10\n");
}

TEST_CASE("an arc by its radius turns at most a third, and has neither I nor J", "[spelling]") {
  auto const radius = [](Dialect& d) { d.arc_radius_form = true; };
  CHECK(spelled("G1 X10 F90\nG3 X0 Y10 I-10 J0\n", radius) == "G1 X10 F90\nG3 X0 Y10 R10\n");
  auto const circle = spelled("G1 X10 F90\nG3 X10 Y0 I-8 J0\n", radius);
  CHECK(count(circle, "R8") == 3);
  CHECK(count(circle, "I") + count(circle, "J") == 0);
}

// The reference for the course is the arc itself. NISTIR 6556, 3.5.3.1 warns of the R form near half circles:
// a digit of R moves the centre without bound there.
TEST_CASE("arcs written by radius keep to their course as arcs written by centre do", "[spelling]") {
  std::mt19937 random(8);
  std::uniform_real_distribution<double> at(-90, 90), radius(0.2, 80), angle(0, 2 * std::numbers::pi),
      turn(0.002, 6.28);
  Dialect to = shipped("iso6983");
  to.arc_radius_form = true;
  double const digit = to.resolution(motion::Units::mm);
  int by_radius = 0;
  for (int i = 0; i < 2000; ++i) {
    double const r = radius(random), a = angle(random), t = i % 2 ? turn(random) : -turn(random);
    motion::Motion arc{.path = t > 0 ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw, .feed = 100};
    arc.centre = {at(random), at(random), 1};
    arc.from = {arc.centre.x + r * std::cos(a), arc.centre.y + r * std::sin(a), 1};
    arc.to = {arc.centre.x + r * std::cos(a + t), arc.centre.y + r * std::sin(a + t), 1};
    motion::Motion const approach{.path = motion::PathKind::rapid, .to = arc.from};
    auto const written = write_steps({generated(approach), generated(arc)}, to);
    REQUIRE(written.errors() == "");
    for (motion::Step const& step : read(written.text, to)) {
      motion::Motion const* m = motion::motion_of(step);
      if (m == nullptr || !motion::is_cutting(*m)) continue;
      by_radius += motion::is_arc(*m) ? 1 : 0;
      for (double const share : {0.0, 0.3, 0.5, 0.8, 1.0}) {
        auto const p = motion::point_at(*m, share);
        double const off = std::abs(std::hypot(p.x - arc.centre.x, p.y - arc.centre.y) - r);
        REQUIRE(off <= (motion::is_arc(*m) ? 2 * digit : to.chord_tolerance_mm + digit));
      }
    }
  }
  CHECK(by_radius > 3000);
}

TEST_CASE("arcs that are too small, too large or too short for the control become chords", "[spelling]") {
  std::string const arc = "G1 X10 F90\nG2 X15 Y-5 I0 J-5\n";
  CHECK(count(spelled(arc, [](Dialect& d) { d.smallest_radius_mm = 6; }), "G2") == 0);
  CHECK(count(spelled(arc, [](Dialect& d) { d.largest_radius_mm = 4; }), "G2") == 0);
  CHECK(count(spelled(arc, [](Dialect& d) { d.shortest_arc_mm = 7.2; }), "G2") == 0);
  CHECK(count(spelled(arc,
                      [](Dialect& d) {
                        d.smallest_radius_mm = 4, d.largest_radius_mm = 6, d.shortest_arc_mm = 7;
                      }),
              "G2") == 1);
}
