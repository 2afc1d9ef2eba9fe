#include "courses.hpp"
#include "steps.hpp"
#include "transform/fit_arcs.hpp"
#include "transform/restep.hpp"

#include <catch2/catch.hpp>

#include <random>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;

namespace {

constexpr double pi = std::numbers::pi;
constexpr double feed = 600;

double rounded(double value, double digit = 0.001) {
  return std::round(value / digit) * digit;
}

/// An arc as chords within `chord_tolerance`, their ends on the arc and rounded to the digit.
struct Chorded {
  Vec3 centre;
  double radius = 10;
  double begin = 0, turn = 2 * pi; ///< radians, negative clockwise
  double rise = 0;
  double chord_tolerance = 0.001;
  double digit = 0.001;

  int chords() const {
    return static_cast<int>(std::ceil(std::abs(turn) / (2 * std::acos(1 - chord_tolerance / radius))));
  }
  Vec3 at(int i) const {
    double const angle = begin + turn * i / chords();
    return {rounded(centre.x + radius * std::cos(angle), digit),
            rounded(centre.y + radius * std::sin(angle), digit),
            rounded(centre.z + rise * i / chords(), digit)};
  }
  void add_to(Program& program) const {
    for (int i = 1; i <= chords(); ++i)
      program.feed(at(i).x, at(i).y, at(i).z, feed);
  }
  Program program() const {
    Program program;
    program.at = at(0);
    add_to(program);
    return program;
  }
};

std::vector<Step> fitted(std::vector<Step> const& steps, double tolerance = 0.002) {
  Bench bench;
  bench.context.path_tolerance = tolerance;
  bench.context.resolution.arc = 0.0001;
  return run(make_fit_arcs, steps, bench.context);
}

} // namespace

TEST_CASE("a circle in chords comes back as the circle", "[fit-arcs]") {
  for (double const radius : {0.5, 1.0, 3.0, 10.0, 40.0, 200.0}) {
    for (double const sense : {1.0, -1.0}) {
      INFO("R" << radius << " sense " << sense);
      Chorded circle{{50, 30, -1}, radius};
      circle.turn *= sense;
      auto const out = fitted(circle.program().steps);
      REQUIRE(out.size() == 1);
      motion::Motion const& arc = *motion_of(out[0]);
      CHECK(arc.path == (sense > 0 ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw));
      CHECK(arc.from == circle.at(0));
      CHECK(arc.to == arc.from);
      CHECK(arc.feed == feed);
      // Its chords lie inside it by up to their sagitta and a digit's rounding.
      CHECK_THAT(motion::radius(arc), WithinAbs(radius, 0.002));
      CHECK(geometry::distance(arc.centre, {50, 30, -1}) < 0.002);
      CHECK(out[0].touched);
    }
  }
}

TEST_CASE("no fitted path is further from the chords than the tolerance, by a measure of its own",
          "[fit-arcs]") {
  std::mt19937 random(7);
  auto const between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 60; ++i) {
    Chorded arc{{between(-20, 20), between(-20, 20), 0}, std::exp(between(-0.7, 4))};
    arc.begin = between(0, 2 * pi);
    arc.turn = between(0.3, 6.2) * (i % 2 == 0 ? 1 : -1);
    arc.rise = i % 3 == 0 ? between(-3, 3) : 0;
    arc.chord_tolerance = between(0.0003, 0.0025);
    double const tolerance = between(0.001, 0.004);
    auto const steps = arc.program().steps;
    auto const out = fitted(steps, tolerance);
    INFO("R" << arc.radius << " turn " << arc.turn << " rise " << arc.rise << " chords "
             << arc.chord_tolerance << " tolerance " << tolerance);
    CHECK(out.size() <= steps.size());
    CHECK(first_gap(out) == (out.empty() ? 0 : first_gap(out)));
    CHECK(courses_apart(steps, out) <= tolerance + 1e-4);
    CHECK(same_stream(fitted(out, tolerance), out));
  }
}

TEST_CASE("every vertex at which the new path turns is one of the program's", "[fit-arcs]") {
  Chorded arc{{0, 0, 0}, 8};
  arc.turn = 4;
  auto const steps = arc.program().steps;
  for (Step const& step : fitted(steps)) {
    Vec3 const to = motion_of(step)->to;
    CHECK(std::any_of(steps.begin(), steps.end(), [&](Step const& s) { return motion_of(s)->to == to; }));
  }
}

TEST_CASE("a mirrored program gives the mirrored arcs", "[fit-arcs]") {
  Chorded arc{{0, 0, 0}, 12};
  arc.turn = 2.5;
  Chorded mirrored = arc;
  mirrored.begin = pi - arc.begin;
  mirrored.turn = -arc.turn;
  auto const a = fitted(arc.program().steps), b = fitted(mirrored.program().steps);
  REQUIRE(a.size() == b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    motion::Motion const &m = *motion_of(a[i]), &n = *motion_of(b[i]);
    CHECK(motion::is_arc(m) == motion::is_arc(n));
    CHECK_THAT(m.to.x + n.to.x, WithinAbs(0, 1e-9));
    CHECK_THAT(m.to.y - n.to.y, WithinAbs(0, 1e-9));
    if (motion::is_arc(m)) CHECK_THAT(motion::radius(m) - motion::radius(n), WithinAbs(0, 0.0005));
  }
}

TEST_CASE("a program twice the size within twice the tolerance has as many arcs", "[fit-arcs]") {
  Chorded arc{{0, 0, 0}, 12};
  arc.turn = 2.5;
  Chorded large{{0, 0, 0}, 24};
  large.turn = 2.5;
  large.chord_tolerance *= 2;
  large.digit *= 2;
  CHECK(fitted(arc.program().steps, 0.002).size() == fitted(large.program().steps, 0.004).size());
}

TEST_CASE("a rounded rectangle keeps its lines and its corners become arcs that run into them",
          "[fit-arcs]") {
  Program program;
  program.at = {5, 0, 0};
  std::pair<Vec3, double> const corners[] = {
      {{35, 5, 0}, -pi / 2}, {{35, 25, 0}, 0}, {{5, 25, 0}, pi / 2}, {{5, 5, 0}, pi}};
  for (auto const& [centre, begin] : corners) {
    Chorded corner{centre, 5};
    corner.begin = begin;
    corner.turn = pi / 2;
    program.feed(corner.at(0).x, corner.at(0).y, 0, feed);
    corner.add_to(program);
  }
  auto const out = fitted(program.steps);
  CHECK(count_arcs(out) == 4);
  CHECK(out.size() == 8);
  for (std::size_t i = 1; i < out.size(); ++i) {
    Vec3 const in = motion::direction_at(*motion_of(out[i - 1]), 1);
    Vec3 const on = motion::direction_at(*motion_of(out[i]), 0);
    CHECK(std::acos(std::min(1.0, dot(in, on))) < geometry::radians(1));
  }
}

TEST_CASE("a helix in chords becomes a helix, and an uneven rise does not", "[fit-arcs]") {
  Chorded turn{{0, 0, 0}, 10};
  turn.rise = -0.5;
  turn.turn = 3;
  turn.digit = 0.0001;
  auto const out = fitted(turn.program().steps);
  REQUIRE(out.size() == 1);
  CHECK(motion_of(out[0])->to.z == -0.5);

  // Half at one slope, half at twice as much: two helices, none across.
  Program uneven = turn.program();
  Chorded steep = turn;
  steep.begin = 3;
  steep.centre.z = -0.5;
  steep.rise = -1;
  steep.add_to(uneven);
  auto const two = fitted(uneven.steps);
  CHECK(two.size() >= 2);
  CHECK(std::any_of(two.begin(), two.end(),
                    [](Step const& s) { return std::abs(motion_of(s)->to.z + 0.5) < 0.05; }));
  CHECK(courses_apart(uneven.steps, two) < 0.0021);
}

TEST_CASE("no arc goes across a level, a corner, a feed, a rapid, a remark or a compensated line",
          "[fit-arcs]") {
  Chorded half{{0, 0, 0}, 10};
  half.turn = pi / 2;
  Chorded rest = half;
  rest.begin = pi / 2;
  auto const arcs_with = [&](auto const& between, double height = 0) {
    Program program = half.program();
    between(program);
    Chorded second = rest;
    second.centre.z = height;
    second.add_to(program);
    auto const out = fitted(program.steps);
    INFO(words(out));
    CHECK(count_arcs(out) == 2);
    return out.size();
  };
  CHECK(arcs_with([](Program& p) { p.feed(nowhere, nowhere, -0.001, feed); }, -0.001) == 3);
  CHECK(arcs_with([](Program& p) { p.feed(nowhere, 10.5, 0, feed).feed(nowhere, 10, 0, feed); }) == 4);
  CHECK(arcs_with([](Program& p) { p(motion::Comment{"second half", false}); }) == 3);
  CHECK(arcs_with([](Program& p) { p.rapid_z(5).rapid_z(0); }) == 4);
  CHECK(arcs_with([](Program& p) { p(motion::Coolant{motion::CoolantKind::flood}); }) == 3);

  Program faster = half.program();
  for (int i = 1; i <= rest.chords(); ++i)
    faster.feed(rest.at(i).x, rest.at(i).y, 0, 2 * feed);
  CHECK(count_arcs(fitted(faster.steps)) == 2);

  Program compensated = half.program();
  for (Step& step : compensated.steps)
    motion_of(step)->compensated = true;
  CHECK(same_stream(fitted(compensated.steps), compensated.steps));

  Program inverse_time = half.program();
  for (Step& step : inverse_time.steps)
    motion_of(step)->feed_mode = motion::FeedMode::inverse_time;
  CHECK(same_stream(fitted(inverse_time.steps), inverse_time.steps));
}

TEST_CASE("a level one micrometre lower is not taken for a helix", "[fit-arcs]") {
  Chorded turn{{0, 0, 0}, 10};
  Program program = turn.program();
  for (int i = 1; i <= turn.chords(); ++i)
    program.feed(turn.at(i).x, turn.at(i).y, -0.001, feed);
  for (Step const& step : fitted(program.steps))
    if (motion::is_arc(*motion_of(step))) CHECK(motion_of(step)->from.z == motion_of(step)->to.z);
}

TEST_CASE("corners of a nut, a zigzag and a straight line are no arcs", "[fit-arcs]") {
  Program nut;
  nut.at = {10, 0, 0};
  for (int i = 1; i <= 6; ++i)
    nut.feed(10 * std::cos(i * pi / 3), 10 * std::sin(i * pi / 3), 0, feed);
  CHECK(count_arcs(fitted(nut.steps)) == 0);

  Program zigzag;
  zigzag.at = {0, 0, 0};
  for (int i = 1; i < 200; ++i)
    zigzag.feed(0.3 * i, i % 2 * 0.05, 0, feed);
  CHECK(count_arcs(fitted(zigzag.steps)) == 0);

  Program straight;
  straight.at = {0, 0, 0};
  for (int i = 1; i < 200; ++i)
    straight.feed(0.1 * i, 0.001 * (i % 2), 0, feed);
  CHECK(count_arcs(fitted(straight.steps)) == 0);
}

TEST_CASE("a raster over a freely formed surface stays as it is", "[fit-arcs]") {
  Program raster;
  raster.at = {0, 0, 0};
  for (int row = 0; row < 20; ++row)
    for (int i = 1; i <= 200; ++i) {
      double const x = row % 2 == 0 ? 0.2 * i : 0.2 * (200 - i);
      raster.feed(x, 0.3 * row, rounded(3 * std::sin(x / 5) * std::cos(row / 7.0)), feed);
    }
  CHECK(same_stream(fitted(raster.steps), raster.steps));
}

TEST_CASE("an arc in another plane is fitted when that plane is the active one", "[fit-arcs]") {
  for (bool const active : {true, false}) {
    Program program;
    program.at = {10, 3, 0};
    if (active) program.modes.plane = motion::Plane::zx;
    for (int i = 1; i <= 60; ++i)
      program.feed(rounded(10 * std::cos(i * pi / 120)), 3, rounded(-10 * std::sin(i * pi / 120)), feed);
    auto const out = fitted(program.steps);
    CHECK(count_arcs(out) == (active ? 1 : 0));
    if (active) CHECK(courses_apart(program.steps, out) < 0.0021);
  }
}

TEST_CASE("a control without arcs of a kind keeps its chords", "[fit-arcs]") {
  Chorded helix{{0, 0, 0}, 10};
  helix.rise = -1;
  helix.turn = 3;
  helix.digit = 0.0001;
  Bench bench;
  bench.context.abilities.helical_arcs = false;
  CHECK(same_stream(run(make_fit_arcs, helix.program().steps, bench.context), helix.program().steps));
  bench.context.abilities.arcs[0] = false;
  Chorded const circle{{0, 0, 0}, 10};
  CHECK(same_stream(run(make_fit_arcs, circle.program().steps, bench.context), circle.program().steps));
}

TEST_CASE("the edits and the summary say how many blocks went and how far the arcs are away", "[fit-arcs]") {
  Bench bench;
  Chorded const circle{{0, 0, 0}, 10};
  run(make_fit_arcs, circle.program().steps, bench.context);
  REQUIRE(bench.edits.all().size() == 1);
  CHECK_THAT(bench.edits.all()[0].why,
             Contains(std::to_string(circle.chords()) + " lines") && Contains("radius 10"));
  CHECK(bench.edits.all()[0].line == 1);
  REQUIRE(bench.found("fit-arcs"));
  CHECK_THAT(bench.findings.all()[0].message, Contains("became 1 of arcs"));
}

TEST_CASE("a long run in chords needs no more memory than a run may have and is still all arcs",
          "[fit-arcs]") {
  Program program;
  program.at = {10, 0, 0};
  int const each = 360, turns = 40;
  for (int i = 1; i <= each * turns; ++i)
    program.feed(rounded(10 * std::cos(2 * pi * i / each)), rounded(10 * std::sin(2 * pi * i / each)), 0,
                 feed);
  auto const out = fitted(program.steps);
  CHECK(out.size() <= 3 * turns);
  CHECK(courses_apart(program.steps, out, 0.05) < 0.0021);
}
