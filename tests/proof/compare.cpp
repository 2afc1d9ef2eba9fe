#include "proof/compare.hpp"

#include "interpret/reader.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <string>
#include <string_view>

using namespace restep;
using Catch::Matchers::Contains;

namespace {

proof::Comparison compare(std::string_view a, std::string_view b, double tolerance = 0.001) {
  text::Input input_a = text::Input::from_memory(a), input_b = text::Input::from_memory(b);
  text::Findings findings;
  interpret::ProgramReader reader_a(input_a, {}, findings), reader_b(input_b, {}, findings);
  auto result = proof::compare_cuts(reader_a, reader_b, tolerance);
  REQUIRE_FALSE(findings.has_errors());
  return result;
}

std::string program(std::string const& cuts, std::string const& head = "T3 M6\nS8000 M3\nM8\n") {
  return "G21 G90 G17\n" + head + "G0 X0 Y0 Z5\nG1 Z0 F300\n" + cuts + "G0 Z5\nM5\nM30\n";
}

} // namespace

TEST_CASE("a program cuts what it cuts", "[compare]") {
  std::string const text = program("G1 X10\nG2 X20 Y-10 I0 J-10\nG1 Y-30\n");
  auto const result = compare(text, text);
  CHECK(result.same());
  CHECK(result.largest_deviation < 1e-9);
  // A plunge of 5, a line of 10, a quarter of radius 10, a line of 20.
  CHECK(result.length_a == Approx(5 + 10 + 5 * 3.14159265 + 20));
  CHECK(result.length_a == result.length_b);
}

TEST_CASE("a line cut into three is the same line", "[compare]") {
  CHECK(compare(program("G1 X10\n"), program("G1 X3\nG1 X7\nG1 X10\n")).same());
  CHECK(compare(program("G1 X3\nG1 X7\nG1 X10\n"), program("G1 X5\nG1 X10\n")).same());
}

TEST_CASE("a full circle in halves or quarters is the same circle", "[compare]") {
  std::string const whole = "G3 X0 Y0 I10 J0\n";
  CHECK(compare(program(whole), program("G3 X20 Y0 I10 J0\nG3 X0 Y0 I-10 J0\n")).same());
  CHECK(compare(program("G3 X10 Y-10 I10 J0\nG3 X0 Y0 I0 J10\n"), program(whole)).same());
}

TEST_CASE("a circle the other way round is another cut", "[compare]") {
  auto const result = compare(program("G3 X0 Y0 I10 J0\n"), program("G2 X0 Y0 I10 J0\n"));
  REQUIRE(result.path);
  CHECK(result.path->a.line == 7);
  CHECK(result.path->b.line == 7);
}

TEST_CASE("a line cut twice is not the same as one cut once", "[compare]") {
  auto const result = compare(program("G1 X10\nG1 X0\n"), program("G1 X10\n"));
  REQUIRE(result.path);
  CHECK_THAT(result.path->what, Contains("only A goes on"));
}

TEST_CASE("a corner that moved by 5 um is found at its line", "[compare]") {
  auto const result = compare(program("G1 X10\nG1 Y10\nG1 X0\n"), program("G1 X10\nG1 Y10.005\nG1 X0\n"));
  REQUIRE(result.path);
  // B's second line goes on where A's third begins.
  CHECK(result.path->a.line == 9);
  CHECK(result.path->b.line == 8);
}

TEST_CASE("a corner that moved by less than the tolerance is measured", "[compare]") {
  auto const result = compare(program("G1 X10\nG1 Y10\nG1 X0\n"), program("G1 X10\nG1 Y10.0008\nG1 X0\n"));
  CHECK(result.same());
  CHECK(result.largest_deviation == Approx(0.0008).margin(1e-7));
}

TEST_CASE("rapids on another way make no other cut", "[compare]") {
  CHECK(compare(program("G1 X10\nG0 Z5\nX30\nZ0\nG1 X40\n"), program("G1 X10\nG0 Z9\nX30 Y0\nZ0\nG1 X40\n"))
            .same());
}

TEST_CASE("a cut that begins elsewhere after a rapid is found", "[compare]") {
  auto const result =
      compare(program("G1 X10\nG0 Z5\nX30\nZ0\nG1 X40\n"), program("G1 X10\nG0 Z5\nX31\nZ0\nG1 X40\n"));
  REQUIRE(result.path);
  CHECK(result.path->a.line == 11);
}

TEST_CASE("another feed, tool, speed, coolant or work offset is found and named", "[compare]") {
  std::string const text = program("G1 X10\n");
  auto const only = [&](std::string const& other, std::string const& kind) {
    auto const result = compare(text, other);
    INFO(kind);
    CHECK_FALSE(result.path);
    REQUIRE(result.states.size() == 1);
    CHECK_THAT(result.states.front().what, Catch::Matchers::StartsWith(kind));
  };
  only(program("G1 X10 F280\n"), "feed");
  only(program("G1 X10\n", "T4 M6\nS8000 M3\nM8\n"), "tool");
  only(program("G1 X10\n", "T3 M6\nS7000 M3\nM8\n"), "speed");
  only(program("G1 X10\n", "T3 M6\nS8000 M4\nM8\n"), "spindle");
  only(program("G1 X10\n", "T3 M6\nS8000 M3\n"), "coolant");
  only(program("G1 X10\n", "T3 M6\nS8000 M3\nM8\nG55\n"), "work offset");
}

TEST_CASE("a drilled hole is the same hole when it is written out", "[compare]") {
  CHECK(compare(program("G0 Z5\nG98 G81 X10 Y0 Z-3 R1 F100\nG80\n"),
                program("G0 Z5\nG0 X10\nZ1\nG1 Z-3 F100\nG0 Z5\n"))
            .same());
}

TEST_CASE("many chords drift along an arc without the two coming apart", "[compare]") {
  // Ten turns of radius 10 in chords of 1.5 degrees: the chords are 1.8 mm shorter in all.
  std::string arcs, chords;
  for (int turn = 0; turn < 10; ++turn) {
    arcs += "G3 X0 Y0 I10 J0\n";
    for (int i = 1; i <= 240; ++i) {
      double const angle = 3.14159265358979 * (1 + i / 120.0);
      chords += "G1 X" + std::to_string(10 + 10 * std::cos(angle)) + " Y" +
                std::to_string(10 * std::sin(angle)) + "\n";
    }
  }
  auto const result = compare(program(arcs), program(chords), 0.002);
  CHECK(result.same());
  // Sagitta of a chord: 10 (1 - cos(0.75 deg)) = 0.86 um.
  CHECK(result.largest_deviation == Approx(0.00086).margin(0.00002));
}
