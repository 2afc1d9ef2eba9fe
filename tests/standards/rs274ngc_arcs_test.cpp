// Arcs of NISTIR 6556 ("The NIST RS274NGC Interpreter - Version 3"), sections 3.5.3 and 5.1.2 and appendix
// C.1. Where the report prints no centre or angle, the values are our own arithmetic on its input.
#include "../interpret/read_program.hpp"
#include "motion/arc.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {

motion::Motion arc_after(std::string_view start, std::string_view block) {
  auto const reading = read(fmt::format("G21 G90 G17 F100\nG0 {}\n{}\n", start, block));
  INFO(block);
  REQUIRE(reading.errors().empty());
  return reading.motions().back();
}
double degrees_of(motion::Motion const& arc) {
  return geometry::degrees(motion::sweep(arc));
}

} // namespace

TEST_CASE("Radius format, 3.5.3.1: a clockwise helix of radius 20 with at most half a turn") {
  auto const arc = arc_after("X0 Y0 Z0", "G17 G2 x 10 y 15 r 20 z 5");
  CHECK(arc.path == motion::PathKind::arc_cw);
  CHECK(arc.to == motion::Vec3{10, 15, 5});
  CHECK(arc.centre.x == Approx(19.855069).margin(0.0000005));
  CHECK(arc.centre.y == Approx(-2.403379).margin(0.0000005));
  CHECK(arc.centre.z == 0);
  CHECK(degrees_of(arc) == Approx(53.576426).margin(0.0000005));
}

TEST_CASE("Radius format, 3.5.3.1: a negative radius takes the long way") {
  auto const arc = arc_after("X0 Y0 Z0", "G17 G2 x 10 y 15 r -20 z 5");
  CHECK(arc.centre.x == Approx(-9.855069).margin(0.0000005));
  CHECK(arc.centre.y == Approx(17.403380).margin(0.000001));
  CHECK(degrees_of(arc) == Approx(306.423574).margin(0.0000005));
}

TEST_CASE("Centre format, 3.5.3.2: the offsets count from the start point") {
  auto const arc = arc_after("X7 Y7 Z9", "G17 G2 x 10 y 16 i 3 j 4 z 9");
  CHECK(arc.path == motion::PathKind::arc_cw);
  CHECK(arc.centre == motion::Vec3{10, 11, 9});
  CHECK(motion::radius(arc) == Approx(5).margin(1e-12));
  CHECK(degrees_of(arc) == Approx(143.130102).margin(0.0000005));
  CHECK(motion::length(arc) == Approx(12.490458).margin(0.0000005));
}

TEST_CASE("Table 10: a helix by radius") {
  auto const arc = arc_after("X3 Y1 Z0", "g2 x0 r 7.01 z0.5");
  CHECK(arc.path == motion::PathKind::arc_cw);
  CHECK(arc.to == motion::Vec3{0, 1, 0.5});
  CHECK(arc.centre.x == Approx(1.5).margin(0.00005));
  CHECK(arc.centre.y == Approx(7.8476).margin(0.00005));
}

TEST_CASE("Appendix C.1, n0190: three quarters of a circle") {
  auto const arc = arc_after("X16 Y2.5 Z-0.5", "g3 x13.5 y0 i-2.5");
  CHECK(arc.centre == motion::Vec3{13.5, 2.5, -0.5});
  CHECK(degrees_of(arc) == Approx(270).margin(1e-9));
}

TEST_CASE("Appendix C.1, n0320: an end point equal to the start point is a full circle") {
  auto const arc = arc_after("X32.5 Y0 Z-0.5", "g2 x32.5 j2.5");
  CHECK(arc.centre == motion::Vec3{32.5, 2.5, -0.5});
  CHECK(arc.to == arc.from);
  CHECK(degrees_of(arc) == 360);
}

TEST_CASE("Appendix C.1, n0490: an axis that is left out keeps its place") {
  auto const arc = arc_after("X64 Y4 Z-0.5", "g2 x69 r4");
  CHECK(arc.to == motion::Vec3{69, 4, -0.5});
  CHECK(arc.centre.x == Approx(66.5).margin(0.0000005));
  CHECK(arc.centre.y == Approx(0.877501).margin(0.0000005));
  CHECK(degrees_of(arc) == Approx(77.364375).margin(0.0000005));
}

TEST_CASE("Appendix C.1, n0590: half a circle by its centre") {
  auto const arc = arc_after("X79.5 Y0 Z-0.5", "g2 j2.5 y5");
  CHECK(arc.centre == motion::Vec3{79.5, 2.5, -0.5});
  CHECK(degrees_of(arc) == 180);
}

TEST_CASE("Radius arcs take the side that their code and sign say") {
  struct Case {
    char const* block;
    motion::Vec3 centre;
    double degrees;
  };
  for (auto const& c : {Case{"G3 X0 Y10 R10", {0, 0, 0}, 90}, Case{"G3 X0 Y10 R-10", {10, 10, 0}, 270},
                        Case{"G2 X0 Y10 R10", {10, 10, 0}, 90}, Case{"G2 X0 Y10 R-10", {0, 0, 0}, 270}}) {
    auto const arc = arc_after("X10 Y0 Z0", c.block);
    CHECK(arc.centre.x == Approx(c.centre.x).margin(1e-9));
    CHECK(arc.centre.y == Approx(c.centre.y).margin(1e-9));
    CHECK(degrees_of(arc) == Approx(c.degrees).margin(1e-7));
  }
}

TEST_CASE("The radii at start and end may differ by 0.002 mm, 3.5.3.2") {
  CHECK(read("F100 G0 X0 Y0\nG2 X10 Y-10.0019 I10\n").errors().empty());
  CHECK(read("F100 G0 X0 Y0\nG2 X10 Y-10.0021 I10\n").error_codes() ==
        std::vector<std::string>{"arc-radius-mismatch"});
}

TEST_CASE("The radii at start and end may differ by 0.0002 in, 3.5.3.2") {
  CHECK(read("G20 F10 G0 X0 Y0\nG2 X1 Y-1.0002 I1\n").errors().empty());
  CHECK(read("G20 F10 G0 X0 Y0\nG2 X1 Y-1.00021 I1\n").error_codes() ==
        std::vector<std::string>{"arc-radius-mismatch"});
}

TEST_CASE("In the XZ plane counter-clockwise turns Z towards X, 4.3.6.1") {
  auto const arc = arc_after("X0 Y0 Z10", "G18 G3 X10 Z0 K-10");
  CHECK(arc.plane == motion::Plane::zx);
  CHECK(arc.centre == motion::Vec3{0, 0, 0});
  CHECK(degrees_of(arc) == 90);
  auto const long_way = arc_after("X0 Y0 Z10", "G18 G2 X10 Z0 K-10 Y3");
  CHECK(degrees_of(long_way) == 270);
  CHECK(long_way.to == motion::Vec3{10, 3, 0});
}

TEST_CASE("In the YZ plane counter-clockwise turns Y towards Z") {
  auto const arc = arc_after("X2 Y10 Z0", "G19 G3 Y0 Z10 J-10");
  CHECK(arc.plane == motion::Plane::yz);
  CHECK(arc.centre == motion::Vec3{2, 0, 0});
  CHECK(degrees_of(arc) == 90);
  auto const by_radius = arc_after("X2 Y10 Z0", "G19 G3 Y0 Z10 R10 X5");
  CHECK(by_radius.centre.y == Approx(0).margin(1e-9));
  CHECK(by_radius.centre.z == Approx(0).margin(1e-9));
  CHECK(by_radius.to == motion::Vec3{5, 0, 10});
}
