// Turned, scaled, mirrored and polar coordinates.
#include "read_program.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <rapidcheck.h>

using namespace restep;
using test::read;

namespace {

std::string const frames_start = "G21 G90 G17 G0 X0 Y0 Z5 F100\n";

std::string moves_in_frames(std::string const& program) {
  auto const reading = read(frames_start + program + "M30\n");
  std::string list;
  for (auto const& error : reading.errors())
    list += error + "\n";
  auto const motions = reading.motions();
  for (std::size_t i = 1; i < motions.size(); ++i) {
    auto const& to = motions[i].to;
    list += fmt::format("{}({:.6g},{:.6g},{:.6g})", i == 1 ? "" : " ", to.x + 0.0, to.y + 0.0, to.z);
  }
  return list;
}

std::string code(std::string const& program) {
  auto const codes = read(frames_start + program + "M30\n").error_codes();
  return codes.empty() ? "none" : codes.front();
}

} // namespace

TEST_CASE("G68 turns positions counter-clockwise about its centre until G69") {
  CHECK(moves_in_frames("G68 X0 Y0 R90\nG1 X10 Y0\nX10 Y5\nG69\nG0 X1 Y2\n") == "(0,10,5) (-5,10,5) (1,2,5)");
  CHECK(moves_in_frames("G68 X10 Y0 R180.\nG1 X0 Y0\n") == "(20,0,5)");
  CHECK(moves_in_frames("G68 X0 Y0 R-90\nG1 X0 Y10\nG91 X1 Y0\n") == "(10,0,5) (10,-1,5)");
}

TEST_CASE("A turned arc keeps its radius and its sense") {
  auto const reading = read(frames_start + "G68 X3 Y4 R30\nG1 X10 Y0\nG3 X0 Y10 I-10\nG69\nM30\n");
  REQUIRE(reading.errors().empty());
  auto const arc = reading.motions()[2];
  CHECK(arc.path == motion::PathKind::arc_ccw);
  CHECK(geometry::distance(arc.from, arc.centre) == Approx(10).margin(1e-9));
  CHECK(geometry::distance(arc.to, arc.centre) == Approx(10).margin(1e-9));
  CHECK(arc.from == reading.motions()[1].to);
}

TEST_CASE("Turned there and back is where it was") {
  CHECK(rc::check([] {
    int const angle = restep::property::draw(-360, 361);
    int const x = restep::property::draw(-500, 501);
    int const y = restep::property::draw(-500, 501);
    double const radians = angle * std::acos(-1.0) / 180;
    auto const to =
        read(frames_start + fmt::format("G68 X0 Y0 R{}.\nG1 X{} Y{}\nM30\n", angle, x, y)).motions()[1].to;
    RC_ASSERT(std::abs(std::cos(radians) * to.x + std::sin(radians) * to.y - x) < 1e-9);
    RC_ASSERT(std::abs(-std::sin(radians) * to.x + std::cos(radians) * to.y - y) < 1e-9);
  }));
}

TEST_CASE("Holes of a cycle are turned with their plane") {
  auto const reading =
      read(frames_start + "G68 X0 Y0 R90\nG99 G81 X10 Y0 Z-1 R1 F50\nX20 Y0\nG80\nG69\nM30\n");
  REQUIRE(reading.errors().empty());
  auto const holes = reading.all<motion::Cycle>();
  REQUIRE(holes.size() == 2);
  CHECK(holes[0].hole == motion::Vec3{0, 10, -1});
  CHECK(holes[1].hole == motion::Vec3{0, 20, -1});
  CHECK(holes[1].from == motion::Vec3{0, 10, 1});
}

TEST_CASE("The move behind a change of coordinates starts where the tool stood") {
  auto const motions =
      read(frames_start + "G0 X3 Y4\nG68 X0 Y0 R90\nG0 Z9\nG0 X1 Y0\nG69\nG0 X7 Y7\nM30\n").motions();
  REQUIRE(motions.size() == 5);
  CHECK(motions[2].from == motion::Vec3{3, 4, 5});
  CHECK(motions[2].to == motion::Vec3{3, 4, 9});
  CHECK(motions[3].from == motion::Vec3{3, 4, 9});
  CHECK(motions[4].from == motions[3].to);
}

TEST_CASE("G51 scales positions and arcs about its centre until G50") {
  CHECK(moves_in_frames("G51 X0 Y0 Z0 P2.\nG1 X1 Y2 Z3\nG50\nG0 X1 Y2 Z3\n") == "(2,4,6) (1,2,3)");
  auto const arc = read(frames_start + "G51 X0 Y0 Z0 P0.5\nG1 X10 Y0 Z2\nG3 X0 Y10 I-10\nM30\n").motions()[2];
  CHECK(geometry::distance(arc.to, arc.centre) == Approx(5));
}

TEST_CASE("G51.1 mirrors positions and turns arcs over until G50.1") {
  CHECK(moves_in_frames("G51.1 X10\nG1 X1 Y2\nG50.1\nG0 X1 Y2\n") == "(19,2,5) (1,2,5)");
  CHECK(moves_in_frames("G51.1 X0 Y0\nG1 X1 Y2\nG50.1 X0\nG0 X1 Y2\n") == "(-1,-2,5) (1,-2,5)");
  auto const one = read(frames_start + "G51.1 X0\nG1 X10 Y0\nG3 X0 Y10 I-10\nM30\n").motions()[2];
  CHECK(one.path == motion::PathKind::arc_cw);
  CHECK(one.centre == motion::Vec3{0, 0, 5});
  auto const both = read(frames_start + "G51.1 X0 Y0\nG1 X10 Y0\nG3 X0 Y10 I-10\nM30\n").motions()[2];
  CHECK(both.path == motion::PathKind::arc_ccw);
}

TEST_CASE("G16 takes X for a radius and Y for an angle until G15") {
  CHECK(moves_in_frames("G16\nG0 X10 Y90\nY180\nX20\nG15\nG0 X1 Y2\n") ==
        "(0,10,5) (-10,0,5) (-20,0,5) (1,2,5)");
  auto const holes =
      read(frames_start + "G16\nG99 G81 X10 Y0 Z-1 R1 F50\nY90.\nG80\nG15\nM30\n").all<motion::Cycle>();
  REQUIRE(holes.size() == 2);
  CHECK(holes[1].hole == motion::Vec3{0, 10, -1});
}

TEST_CASE("Blocks with coordinates that were worked out are not copied") {
  auto const reading = read(frames_start + "G68 X0 Y0 R90\nG1 X1 Y0\nG69\nG0 X5 Y5\nM30\n");
  std::string touched;
  for (auto const& step : reading.steps)
    touched += step.touched ? 't' : '-';
  CHECK(touched == "-ttt--");
}

TEST_CASE("What is not plain about a change of coordinates is refused by name") {
  CHECK(code("G68 R30\n") == "frame-without-centre");
  CHECK(code("G68 X0 Y0\n") == "rotation-without-angle");
  CHECK(code("G91 G68 X0 Y0 R30\n") == "frame-incremental");
  CHECK(code("G18 G68 X0 Y0 R30\n") == "frame-outside-xy");
  CHECK(code("G68 X0 Y0 R30\nG68 X0 Y0 R30\n") == "frame-already-active");
  CHECK(code("G68 X0 Y0 R30\nG51.1 X0\n") == "frame-already-active");
  CHECK(code("G68 X0 Y0 R30\nG1 X5\n") == "turned-position-unknown");
  CHECK(code("G68 X0 Y0 R30 G1\n") == "frame-beside-words");
  CHECK(code("G68 X0 Y0 R30\nG92 X0\n") == "not-under-frame");
  CHECK(code("G68 X0 Y0 R30\nG55\n") == "not-under-frame");
  CHECK(code("G68 X0 Y0 R30\nG20\n") == "not-under-frame");
  CHECK(code("G68 X0 Y0 R30\nG28 X0 Z0\n") == "not-under-frame");
  CHECK(code("G68 X0 Y0 R30\nG91 G28 Z0\n") == "none");
  CHECK(code("G68 X0 Y0 R30\nG1 X0 Y0\nG18 G2 X5 Z5 R5\n") == "not-under-frame");
  CHECK(code("G51 X0 Y0 Z0 P2\n") == "scaling-factor");
  CHECK(code("G51 X0 Y0 P2.\n") == "frame-without-centre");
  CHECK(code("G51 X0 Y0 Z0 I2. J1. K1.\n") == "scaling-by-axis");
  CHECK(code("G51 X0 Y0 Z0 P2.\nG81 X0 Y0 Z-1 R1\n") == "not-under-frame");
  CHECK(code("G51.1\n") == "mirror-without-axis");
  CHECK(code("G51.1 X0\nG41 D1 G1 X5\n") == "not-under-frame");
  CHECK(code("G41 D1 G1 X5\nG68 X0 Y0 R30\n") == "not-under-compensation");
  CHECK(code("G16\nG0 X10\n") == "polar-incomplete");
  CHECK(code("G16\nG91 X10 Y10\n") == "polar-incremental");
  CHECK(code("G16\nG0 X10 Y10\nG2 X5 Y5 R10\n") == "not-under-frame");
  CHECK(code("G16\nG68 X0 Y0 R30\n") == "polar-with-frame");
  CHECK(code("G68 X0 Y0 R30\nG16\n") == "polar-with-frame");
  CHECK(code("G18 G16\nG0 X10 Z10\n") == "polar-outside-xy");
  interpret::ReadRules rules;
  rules.count_without_point = true;
  CHECK(read("G68 X0 Y0 R30\nM30\n", rules).error_codes() == std::vector<std::string>{"angle-without-point"});
  CHECK(read("G16\nG0 X10. Y30\nM30\n", rules).error_codes() ==
        std::vector<std::string>{"angle-without-point"});
  interpret::ReadRules strict;
  strict.strict_layout = true;
  CHECK(read("G68 X0 Y0 R30\nM30\n", strict).error_codes() == std::vector<std::string>{"not-in-standard"});
}
