#include "dialect/arc_digits.hpp"
#include "dialect/number.hpp"
#include "motion/arc.hpp"
#include "program.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>
#include <random>

using namespace restep;
using namespace restep::dialect_test;
using motion::Motion;
using motion::PathKind;
using motion::Vec3;

namespace {

constexpr double pi = std::numbers::pi;

Motion arc_of(Vec3 from, double radius, double begin, double turn) {
  Motion m{.path = turn > 0 ? PathKind::arc_ccw : PathKind::arc_cw, .from = from, .feed = 200};
  m.centre = {from.x - radius * std::cos(begin), from.y - radius * std::sin(begin), from.z};
  m.to = {m.centre.x + radius * std::cos(begin + turn), m.centre.y + radius * std::sin(begin + turn), from.z};
  return m;
}

/// The arc as it is read back from what was written of it, behind a rapid to its start.
std::vector<Motion> written_and_read(Motion const& arc, dialect::Dialect const& dialect) {
  Motion const approach{.path = PathKind::rapid, .to = arc.from};
  auto const written = write_steps({generated(approach), generated(arc)}, dialect);
  INFO(written.text);
  REQUIRE(written.errors() == "");
  auto motions = course(written.text + "M2\n", dialect, 0);
  motions.erase(motions.begin());
  return motions;
}

} // namespace

TEST_CASE("a written arc ends within half a digit and runs within two digits", "[arc]") {
  std::mt19937 random(31);
  std::uniform_real_distribution<double> place(-100, 100), radius(0.05, 60), angle(0, 2 * pi),
      turn(0.001, 6.28);
  for (auto const* name : {"rs274ngc", "small-firmware", "iso6983"}) {
    auto const dialect = shipped(name);
    double const digit = dialect.resolution(motion::Units::mm);
    for (int i = 0; i < 3000; ++i) {
      auto const meant = arc_of({place(random), place(random), 1}, radius(random), angle(random),
                                i % 2 == 0 ? turn(random) : -turn(random));
      auto const read = written_and_read(meant, dialect);
      if (read.empty()) { // both ends round to one place
        REQUIRE(motion::length(meant) < 3 * digit);
        continue;
      }
      REQUIRE(std::abs(read.back().to.x - meant.to.x) <= digit / 2 + 1e-9);
      REQUIRE(std::abs(read.back().to.y - meant.to.y) <= digit / 2 + 1e-9);
      double turned = 0;
      for (auto const& m : read) {
        if (motion::is_arc(m)) turned += motion::sweep(m);
        for (double const t : {0.25, 0.5, 0.75}) {
          auto const p = motion::point_at(m, t);
          double const off =
              std::abs(std::hypot(p.x - meant.centre.x, p.y - meant.centre.y) - motion::radius(meant));
          REQUIRE(off <= (motion::is_arc(m) ? 2 * digit : dialect.chord_tolerance_mm + digit));
        }
      }
      bool const all_arcs =
          std::all_of(read.begin(), read.end(), [](Motion const& m) { return motion::is_arc(m); });
      if (all_arcs) REQUIRE(std::abs(turned - motion::sweep(meant)) < 0.8);
    }
  }
}

TEST_CASE("a tiny arc does not become a full circle, a full circle does not become a tiny arc", "[arc]") {
  std::mt19937 random(32);
  std::uniform_real_distribution<double> place(-100, 100), radius(0.5, 60), angle(0, 2 * pi),
      length(1e-5, 4e-3);
  auto const dialect = shipped("rs274ngc");
  for (int i = 0; i < 5000; ++i) {
    double const r = radius(random);
    Vec3 const from{place(random), place(random), 0};
    double path = 0;
    for (auto const& m : written_and_read(arc_of(from, r, angle(random), length(random) / r), dialect))
      path += motion::length(m);
    REQUIRE(path < 5e-3);
  }
  for (int i = 0; i < 2000; ++i) {
    double const r = radius(random);
    auto circle = arc_of({place(random), place(random), 0}, r, angle(random), 1);
    circle.to = circle.from;
    double path = 0;
    for (auto const& m : written_and_read(circle, dialect))
      path += motion::length(m);
    REQUIRE(path == Approx(2 * pi * r).epsilon(1e-3));
  }
}

TEST_CASE("the radii at both ends agree better than the control asks for", "[arc]") {
  std::mt19937 random(33);
  std::uniform_real_distribution<double> place(-100, 100), radius(0.5, 60), angle(0, 2 * pi), turn(0.1, 6);
  auto const dialect = shipped("rs274ngc");
  for (int i = 0; i < 3000; ++i) {
    auto const meant = arc_of({place(random), place(random), 0}, radius(random), angle(random), turn(random));
    for (auto const& m : written_and_read(meant, dialect)) {
      if (!motion::is_arc(m)) continue;
      double const at_end = std::hypot(m.to.x - m.centre.x, m.to.y - m.centre.y);
      REQUIRE(std::abs(at_end - motion::radius(m)) < 0.00012);
    }
  }
}

TEST_CASE("with too few digits for an arc its chords are written", "[arc]") {
  auto dialect = shipped("rs274ngc");
  dialect.decimals_mm = 1;
  auto const read = written_and_read(arc_of({0.1, 0.2, 0}, 7.77, 0.3, 2.1), dialect);
  REQUIRE(read.size() > 1);
  for (auto const& m : read)
    CHECK(m.path == PathKind::line);
}

TEST_CASE("the program's own centre words stay as they are", "[arc]") {
  auto const dialect = shipped("rs274ngc");
  std::string const program = "G17 G21 G90 G94\nG0 X1 Y2 Z3\nG2 X5.9995 Y2 I2.5 J0.123 F100\nM2\n";
  auto const written = write_afresh(program, dialect);
  CHECK(written.text.find("I2.5 J0.123") != std::string::npos);
}

TEST_CASE("absolute centres are written where the control wants them", "[arc]") {
  auto dialect = shipped("rs274ngc");
  dialect.arc_centre_absolute = true;
  auto const written = write_steps({generated(Motion{.path = PathKind::rapid, .to = {10, 0, 0}}),
                                    generated(arc_of({10, 0, 0}, 5, 0, pi / 2))},
                                   dialect);
  CHECK(written.text == "G17 G21 G80 G90 G94\nG0 X10 Y0 Z0\nG90.1 G3 X5 Y5 I5 J0 F200\n");
}

TEST_CASE("chords keep within the tolerance they are counted for", "[arc]") {
  for (double const radius : {0.01, 0.5, 3.0, 250.0}) {
    for (double const sweep : {0.1, 1.0, 6.28}) {
      double const angle = sweep / dialect::chords_needed(radius, sweep, 0.002);
      CHECK(radius * (1 - std::cos(angle / 2)) <= 0.002 * (1 + 1e-9));
    }
  }
}
