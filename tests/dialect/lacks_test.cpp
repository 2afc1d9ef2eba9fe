// What a control lacks: each row says what becomes of it.

#include "geometry/vec.hpp"
#include "motion/arc.hpp"
#include "program.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <random>
#include <string>

using namespace restep;
using namespace restep::dialect_test;
using text::Severity;

namespace {

Written for_small(std::string const& program) {
  return rewrite(program, shipped("rs274ngc"), shipped("small-firmware"));
}

/// The only finding must be this one.
void check_only(Written const& written, Severity severity, std::string const& code) {
  INFO(written.text);
  REQUIRE(written.findings.size() == 1);
  CHECK(written.findings.front().severity == severity);
  CHECK(written.findings.front().code == code);
  CHECK_FALSE(written.findings.front().message.empty());
}

std::string const head = "G21 G90\nG0 X0 Y0 Z5\n";

} // namespace

TEST_CASE("length offsets are left out, and the operator is told to touch off", "[lacks]") {
  auto const written = for_small(head + "G43 H3\nG0 Z2\nG43 H4\nG0 Z1\nM30\n");
  check_only(written, Severity::warning, "no-length-offset");
  CHECK(written.findings.front().hint == "touch off each tool in Z after its change");
  CHECK(written.text == "G21 G90\nG0 X0 Y0 Z5\nZ2\nZ1\nM30\n");
}

TEST_CASE("path control and override locks are left out with a warning each", "[lacks]") {
  check_only(for_small(head + "G64\nG61\nM30\n"), Severity::warning, "no-path-control");
  check_only(for_small(head + "M49\nM48\nM30\n"), Severity::warning, "no-override-lock");
}

TEST_CASE("what would move the machine elsewhere is refused", "[lacks]") {
  check_only(for_small(head + "G53 G0 Z0\nM30\n"), Severity::error, "no-machine-coordinates");
  check_only(for_small(head + "G91 G28 Z0\nG90\nM30\n"), Severity::error, "no-home");
  check_only(for_small(head + "G10 L2 P1 X0 Y0\nM30\n"), Severity::error, "no-set-origin");
  check_only(for_small(head + "G38.2 Z-5 F50\nM30\n"), Severity::error, "no-probe");
}

TEST_CASE("storing the point where the tool stands is written where the control has G10 L20", "[lacks]") {
  auto stores = shipped("rs274ngc");
  stores.set_origin_here = true;
  std::string const program = "G21 G90 G54\nG0 X0 Y0 Z5\nG10 L20 P0 Z2\nG0 Z9\nM30\n";
  CHECK(write_afresh(program, stores).text.find("G10 L20 P0 Z2\n") != std::string::npos);
  auto const refused = write_afresh(program, shipped("rs274ngc"));
  REQUIRE(refused.findings.size() == 1);
  CHECK(refused.findings.front().code == "no-set-origin");
}

TEST_CASE("cutter compensation is refused, cancelling it is not", "[lacks]") {
  CHECK(for_small(head + "G40\nM30\n").findings.empty());
  CHECK(for_small(head + "G41 D1\nG1 X5 Y5 F100\nX9\nG40\nM30\n").first(Severity::error) ==
        "no-compensation");
}

TEST_CASE("a shift of coordinates is refused where the control has no word for it", "[lacks]") {
  auto dialect = shipped("small-firmware");
  dialect.coordinate_shift = false;
  auto const written = rewrite(head + "G92 X0\nM30\n", shipped("rs274ngc"), dialect);
  check_only(written, Severity::error, "no-shift");
}

TEST_CASE("without work offsets G54 is left out and another one refused", "[lacks]") {
  auto dialect = shipped("small-firmware");
  dialect.work_offsets = false;
  dialect.work_offset_count = 0;
  auto const from = shipped("rs274ngc");
  check_only(rewrite(head + "G54\nG0 X1\nM30\n", from, dialect), Severity::warning, "no-work-offsets");
  check_only(rewrite(head + "G55\nG0 X1\nM30\n", from, dialect), Severity::error, "no-work-offset");
  check_only(for_small(head + "G59.1\nG0 X1\nM30\n"), Severity::error, "no-work-offset");
}

TEST_CASE("further work offsets are written where the control has them, and refused elsewhere", "[lacks]") {
  auto dialect = shipped("rs274ngc");
  dialect.further_work_offsets = 48;
  std::string const program = head + "G54.1 P48\nG0 X1 Y1 Z1\nG54 P2\nG0 X1 Y1 Z1\nM30\n";
  auto const written = write_afresh(program, dialect);
  CHECK(written.findings.empty());
  CHECK(written.text.find("\nG54.1 P48\nX1 Y1 Z1\nG54.1 P2\nX1 Y1 Z1\nM30\n") != std::string::npos);
  dialect.further_work_offsets = 47;
  auto const refused = write_afresh(program, dialect);
  check_only(refused, Severity::error, "no-work-offset");
  CHECK(refused.findings.front().message == "the control has no work offset G54.1 P48");
}

TEST_CASE("a tool change without M6 needs a stop before the next move", "[lacks]") {
  CHECK(for_small("G21 G90\nT1 M6\nG0 X1\nT2 M6\nM0\nG0 X2\nM30\n").errors().empty());
  CHECK(for_small("G21 G90\nT1 M6\nG0 X1\nM0\nT2 M6\nG0 X2\nM30\n").errors().empty());
  CHECK(for_small("G21 G90\nT1 M6\nG0 X1\nT2 M6\nG0 X2\nM30\n").first(Severity::error) ==
        "tool-change-without-stop");
}

TEST_CASE("a pallet change becomes a stop", "[lacks]") {
  auto const written = for_small(head + "M60\nM30\n");
  check_only(written, Severity::warning, "no-pallets");
  CHECK(written.text == "G21 G90\nG0 X0 Y0 Z5\nM0\nM30\n");
}

TEST_CASE("cycles become the moves they stand for", "[lacks]") {
  auto const written = for_small(head + "G98 G81 X4 Y5 Z-1.5 R2.8 F80\nG80\nM30\n");
  check_only(written, Severity::note, "cycles-as-moves");
  CHECK(written.text == "G21 G90\nG0 X0 Y0 Z5\nX4 Y5\nZ2.8\nG1 Z-1.5 F80\nG0 Z5\nM30\n");
}

TEST_CASE("tapping and shifted boring do not become plain moves", "[lacks]") {
  CHECK(for_small("S300 M3\n" + head + "G84 X1 Y1 Z-5 R1 F150\nG80\nM30\n").first(Severity::error) ==
        "cycle-not-writable");
  CHECK(for_small("S300 M3\n" + head + "G76 X1 Y1 Z-5 R1 I0.2 J0 F50\nG80\nM30\n").first(Severity::error) ==
        "cycle-not-writable");
}

TEST_CASE("inches become millimetres and back where the control has only one of them", "[lacks]") {
  auto metric = shipped("small-firmware");
  metric.inch = false;
  auto const written = rewrite("G20 G90\nG0 X1 Y0.5 Z0.25\nG1 X2 F10\nM30\n", shipped("rs274ngc"), metric);
  CHECK(written.text == "G21 G90\nG0 X25.4 Y12.7 Z6.35\nG1 X50.8 F254\nM30\n");
}

TEST_CASE("inverse-time feeds become feeds per minute", "[lacks]") {
  auto const written = for_small(head + "G93 G1 X10 F5\nG94\nM30\n");
  CHECK(written.findings.empty());
  CHECK(written.text == "G21 G90\nG0 X0 Y0 Z5\nG1 X10 F50\nM30\n");
}

TEST_CASE("a feed per revolution becomes a feed per minute when the speed is known", "[lacks]") {
  CHECK(for_small("S500 M3\n" + head + "G95 G1 X10 F0.1\nM30\n").text ==
        "S500 M3\nG21 G90\nG0 X0 Y0 Z5\nG1 X10 F50\nM30\n");
}

TEST_CASE("a feed that would be rounded to nothing is refused", "[lacks]") {
  check_only(for_small(head + "G1 X10 F0.04\nM30\n"), Severity::error, "feed-too-small");
}

TEST_CASE("blocks with block delete are executed where the control has none, with a warning", "[lacks]") {
  auto const written = for_small(head + "/G0 X5\nM30\n");
  check_only(written, Severity::warning, "no-block-delete");
}

TEST_CASE("a full circle is written as two halves where the control has none", "[lacks]") {
  auto const written = for_small(head + "G2 X0 Y0 I-5 F100\nM30\n");
  CHECK(written.findings.empty());
  CHECK(written.text == "G21 G90\nG0 X0 Y0 Z5\nG2 X-10 I-5 F100\nX0 I5\nM30\n");
}

TEST_CASE("arcs in a missing plane and helices become chords within the tolerance", "[lacks]") {
  auto const small = shipped("small-firmware");
  std::string const arcs[] = {"G18 G2 X10 Z5 I5 K0 F100\nG17\n", "G19 G3 Y6 Z11 J0 K6 F100\nG17\n",
                              "G3 X10 Y10 Z1 I0 J10 F100\n", "G2 X0 Y0 Z-3 I-4 F100\n"};
  for (auto const& arc : arcs) {
    auto const program = head + arc + "M30\n";
    auto const written = for_small(program);
    CHECK(written.count.linearised_arcs == 1);
    CHECK(written.first(Severity::note) == "arcs-as-chords");
    CHECK(written.errors() == "");
    auto const meant = course(program, shipped("rs274ngc"), 0).back();
    auto const chords = course(written.text, small, 0);
    REQUIRE(chords.size() > 10);
    auto const axes = motion::axes_of(meant.plane);
    double const tolerance = small.chord_tolerance_mm + 0.0005 * std::sqrt(2.0);
    for (std::size_t i = 1; i < chords.size(); ++i) {
      for (double const t : {0.25, 0.5, 0.75, 1.0}) {
        auto const p = motion::point_at(chords[i], t);
        double const r =
            std::hypot(p[axes.first] - meant.centre[axes.first], p[axes.second] - meant.centre[axes.second]);
        CHECK(std::abs(r - motion::radius(meant)) <= tolerance);
      }
      CHECK(chords[i].feed == Approx(meant.feed));
    }
    CHECK(geometry::distance(chords.back().to, meant.to) < 1e-9);
  }
}

TEST_CASE("an inverse-time arc written as chords takes the same time", "[lacks]") {
  auto to = shipped("rs274ngc");
  to.name = "without helices";
  to.helical_arcs = false;
  to.decimals_feed = 6;
  std::string const program = head + "G93 G3 X10 Y10 Z1 I0 J10 F4\nM30\n";
  auto const written = rewrite(program, shipped("rs274ngc"), to);
  double minutes = 0;
  for (auto const& m : course(written.text, to, 0))
    if (m.path == motion::PathKind::line) minutes += 1 / m.feed;
  CHECK(minutes == Approx(0.25));
}

TEST_CASE("words that only the program's own control may know are left out or refused elsewhere", "[lacks]") {
  auto from = shipped("rs274ngc");
  from.read.carried_m = {150};
  auto const written = rewrite(head + "M150\nM30\n", from, shipped("small-firmware"));
  check_only(written, Severity::warning, "carried-left-out");
}

TEST_CASE("a small control is given a program that makes the same cut", "[lacks]") {
  std::mt19937 random(21);
  auto const from = shipped("rs274ngc");
  auto const to = shipped("small-firmware");
  for (int round = 0; round < 30; ++round) {
    auto const program = random_program(random, {.other_planes = false, .inverse_time = false});
    auto const written = rewrite(program, from, to);
    INFO(program << "---\n" << written.text);
    REQUIRE(written.errors() == "");
    REQUIRE(difference(course(program, from, 1e-6), course(written.text, to, 1e-6), 0.0005 + 1e-7) == "");
  }
}

TEST_CASE("a way from an unknown place is copied or refused, never left out", "[lacks]") {
  std::string const program = "G21 G90\nG0 X0 Y25\nG91\nZ-13\nG90\nG0 Z5\nM30\n";
  CHECK(rewrite(program).text == program);
  CHECK(rewrite(program, shipped("rs274ngc"), shipped("iso6983")).first(Severity::error) == "blind-move");
  // Standing still at an unknown height is no move.
  std::string const twice = "G21 G90\nG0 X0 Y25\nG0 X0 Y25\nG91\nX0\nG90\nG0 Z5\nM30\n";
  CHECK(rewrite(twice, shipped("rs274ngc"), shipped("iso6983")).errors().empty());
}
