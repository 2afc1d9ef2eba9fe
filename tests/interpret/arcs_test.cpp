#include "motion/arc.hpp"
#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {
std::string const start = "G0 X0 Y0 Z0 F100\n";
std::vector<std::string> codes(std::string const& block) {
  return read(start + block + "\n").error_codes();
}
std::vector<std::string> one(char const* code) {
  return {code};
}
} // namespace

TEST_CASE("A full circle needs no end words") {
  auto const reading = read(start + "G3 I5\nI5 Z-1\n");
  CHECK(reading.errors().empty());
  auto const motions = reading.motions();
  REQUIRE(motions.size() == 3);
  CHECK(geometry::degrees(motion::sweep(motions[1])) == 360);
  CHECK(motions[1].to == motion::Vec3{0, 0, 0});
  CHECK(motions[2].to == motion::Vec3{0, 0, -1});
}

TEST_CASE("With G90.1 the centre is a point") {
  auto const reading = read("G0 X10 Y0 Z0 F100\nG90.1\nG3 X0 Y10 I0 J0\nG91.1\nX-10 Y0 J-10\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions()[1].centre == motion::Vec3{0, 0, 0});
  CHECK(reading.motions()[2].centre == motion::Vec3{0, 0, 0});
  CHECK(read("G0 X10 Y0 F100\nG90.1\nG3 X0 Y10 I0\n").error_codes() == one("centre-incomplete"));
}

TEST_CASE("The other way of giving the centre is named when it would fit") {
  auto const reading = read("G0 X30 Y20 F100\nG3 X20 Y30 I20 J20\n");
  CHECK(reading.error() ==
        "2:12+3 arc-radius-mismatch: the arc does not end on its circle: radius 28.2843 mm at the "
        "start, 31.6228 mm at the end (they may differ by 0.0020 mm) | the centre fits as a point: "
        "is G90.1 meant?");
}

TEST_CASE("A semicircle by radius may miss its chord by the arc tolerance") {
  auto const reading = read(start + "G2 X10.003 R5\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions()[1].centre == motion::Vec3{5.0015, 0, 0});
  CHECK(codes("G2 X10.005 R5") == one("radius-too-small"));
}

TEST_CASE("A tiny arc by radius keeps its centre") {
  auto const reading = read(start + "G3 X0.0002 R2000\n");
  auto const arc = reading.motions()[1];
  CHECK(arc.centre.x == Approx(0.0001).margin(1e-9));
  CHECK(arc.centre.y == Approx(2000).epsilon(1e-12));
}

TEST_CASE("Offsets count from the start point in incremental mode as well") {
  auto const reading = read("G0 X10 Y0 Z0 F100\nG91 G3 X-10 Y10 I-10\n");
  CHECK(reading.motions()[1].centre == motion::Vec3{0, 0, 0});
  CHECK(reading.motions()[1].to == motion::Vec3{0, 10, 0});
}

TEST_CASE("A zero offset of the axis outside the plane is harmless") {
  CHECK(codes("G2 X10 I5 K0").empty());
  CHECK(codes("G2 X10 I5 K1") == one("centre-outside-plane"));
}

TEST_CASE("An arc needs a known start") {
  CHECK(read("G0 X0 F100\nG2 X10 Y0 I5\n").error() ==
        "2:1+2 arc-start-unknown: an arc from an unknown Y: no block before it says where it starts | move "
        "to a stated "
        "Y first, with G0 or G1");
  CHECK(read("G0 X0 Y0 F100\nG2 X10 I5\n").errors().empty());
  CHECK(read("G0 X0 Y0 F100\nG2 X10 I5 Z1\n").error_codes() == one("arc-start-unknown"));
}

TEST_CASE("An arc that is none wherever it starts is refused behind a refused block too") {
  CHECK(read("G21 F100\nG0 X0 Y0 Z0\nG2 X1 Y1 I0 J0\nG2 X10 Y10\nM30\n").error_codes() ==
        std::vector<std::string>{"arc-without-radius", "arc-without-centre"});
}

TEST_CASE("An arc after a refused block is not refused as well") {
  auto const reading = read(start + "G1 X5 Q3\nG2 X15 I5\nG2 X25 I5\nG1 X1 H4\n");
  CHECK(reading.error_codes() == std::vector<std::string>{"word-without-user", "word-without-user"});
  CHECK(reading.motions().back().to.x == 25);
}

TEST_CASE("Arcs that cannot be are refused") {
  CHECK(codes("G2 X0 Y0 R5") == one("radius-arc-closed"));
  CHECK(codes("G2 R5") == one("arc-without-end"));
  CHECK(codes("G2 X10") == one("arc-without-centre"));
  CHECK(codes("G2 X10 R4.9") == one("radius-too-small"));
  CHECK(codes("G2 X10 R5 I5") == one("radius-and-centre"));
  CHECK(codes("G2 X0 Y0 I0") == one("arc-without-radius"));
  CHECK(codes("G2") == one("motion-without-axes"));
}
