#include "geometry/vec.hpp"
#include "tests/proof/read_back_help.hpp"

#include <fmt/format.h>

#include <cmath>

using namespace restep;

namespace {

constexpr char const* start = "G21 G90 G17\nF300\nG0 X10 Y0 Z0\n";

std::string arcs_program(std::string const& cuts) {
  return start + cuts;
}

/// A counter-clockwise arc about the origin from (10, 0), as `count` chords over `degrees`, bulging by
/// `outwards`, z falling by `depth` in all.
std::string chords(int count, double degrees, double outwards = 0, double depth = 0) {
  std::string text;
  for (int i = 1; i <= count; ++i) {
    double const angle = geometry::radians(degrees * i / count);
    double const radius = i == count ? 10 : 10 + outwards;
    text += fmt::format("G1 X{:.6f} Y{:.6f} Z{:.6f}\n", radius * std::cos(angle), radius * std::sin(angle),
                        -depth * i / count);
  }
  return text;
}

} // namespace

// Sagitta of a chord over angle w of radius 10: 10 (1 - cos(w/2)); 90 degrees in 40 chords: 1.9 um.
TEST_CASE("an arc may come back as chords within the chord tolerance", "[read-back]") {
  auto const verdict = proof::read_back(arcs_program("G3 X0 Y10 I-10 J0\nG1 Y20\n"),
                                        arcs_program(chords(40, 90) + "G1 Y20\n"));
  CHECK(verdict.agreed);
  CHECK(verdict.result.largest_deviation == Approx(0.0019).margin(0.0002));
}

TEST_CASE("chords that stand off the arc are found", "[read-back]") {
  CHECK_FALSE(proof::read_back(arcs_program("G3 X0 Y10 I-10 J0\n"), arcs_program(chords(10, 90))).agreed);
  CHECK_FALSE(
      proof::read_back(arcs_program("G3 X0 Y10 I-10 J0\n"), arcs_program(chords(40, 90, 0.01))).agreed);
}

TEST_CASE("chords that end early or go on too far are found", "[read-back]") {
  CHECK_FALSE(proof::read_back(arcs_program("G3 X0 Y10 I-10 J0\n"), arcs_program(chords(40, 89))).agreed);
  CHECK_FALSE(proof::read_back(arcs_program("G3 X0 Y10 I-10 J0\n"), arcs_program(chords(40, 91))).agreed);
}

TEST_CASE("chords the other way round a full circle are found", "[read-back]") {
  CHECK(proof::read_back(arcs_program("G3 X10 Y0 I-10 J0\n"), arcs_program(chords(160, 360))).agreed);
  CHECK_FALSE(proof::read_back(arcs_program("G2 X10 Y0 I-10 J0\n"), arcs_program(chords(160, 360))).agreed);
}

TEST_CASE("a full circle may come back as two halves but not as one", "[read-back]") {
  CHECK(proof::read_back(arcs_program("G3 X10 Y0 I-10 J0\n"),
                         arcs_program("G3 X-10 Y0 I-10 J0\nG3 X10 Y0 I10 J0\n"))
            .agreed);
  CHECK_FALSE(
      proof::read_back(arcs_program("G3 X10 Y0 I-10 J0\n"), arcs_program("G3 X-10 Y0 I-10 J0\n")).agreed);
}

TEST_CASE("a helix may come back as chords that fall with it", "[read-back]") {
  CHECK(proof::read_back(arcs_program("G3 X0 Y10 Z-1 I-10 J0\n"), arcs_program(chords(40, 90, 0, 1))).agreed);
  CHECK_FALSE(proof::read_back(arcs_program("G3 X0 Y10 Z-1 I-10 J0\n"), arcs_program(chords(40, 90, 0, 1.01)))
                  .agreed);
}

TEST_CASE("an arc in radius form and in centre form are the same arc", "[read-back]") {
  CHECK(proof::read_back(arcs_program("G3 X0 Y10 R10\n"), arcs_program("G3 X0 Y10 I-10 J0\n")).agreed);
  CHECK_FALSE(proof::read_back(arcs_program("G3 X0 Y10 R10\n"), arcs_program("G3 X0 Y10 R-10\n")).agreed);
}

TEST_CASE("a sliver of an arc that rounding closed into a full circle is found", "[read-back]") {
  dialect::Dialect three_decimals;
  three_decimals.decimals_mm = 3;
  CHECK_FALSE(proof::read_back(arcs_program("G3 X10 Y0.0004 I-10 J0\nG1 Y20\n"),
                               arcs_program("G3 X10 Y0 I-10 J0\nG1 Y20\n"), three_decimals)
                  .agreed);
  CHECK(proof::read_back(arcs_program("G3 X10 Y0.0004 I-10 J0\nG1 Y20\n"), arcs_program("G1 Y20\n"),
                         three_decimals)
            .agreed);
}

TEST_CASE("a canned cycle may come back written out", "[read-back]") {
  std::string const cycle = "M3 S1000\nG0 Z10\nG98 G81 X20 Y5 Z-8 R2 F120\nG80\nG0 X0\n";
  std::string const motions = "M3 S1000\nG0 Z10\nG0 X20 Y5\nG0 Z2\nG1 Z-8 F120\nG0 Z10\nG0 X0\n";
  CHECK(proof::read_back(arcs_program(cycle), arcs_program(motions)).agreed);
  CHECK(proof::read_back(arcs_program(cycle), arcs_program(cycle)).agreed);
  CHECK(proof::read_back(arcs_program(motions), arcs_program(cycle)).agreed);
}

TEST_CASE("a hole that is not deep enough is found", "[read-back]") {
  CHECK_FALSE(proof::read_back(arcs_program("G0 Z10\nG81 X20 Y5 Z-8 R2 F120\n"),
                               arcs_program("G0 Z10\nG81 X20 Y5 Z-7.9 R2 F120\n"))
                  .agreed);
}
