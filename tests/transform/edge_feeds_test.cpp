#include "steps.hpp"
#include "tests/draw.hpp"
#include "transform/edge_feeds.hpp"
#include "transform/fit_arcs.hpp"
#include "transform/restep.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <rapidcheck.h>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using Catch::Matchers::WithinAbs;
using motion::PathKind;
using motion::Plane;
using motion::Side;

namespace {

/// T1 is a flat tool of 6 mm.
Bench bench_with_tool() {
  Bench bench;
  cutter::Tool tool = cutter::parse_tool("flat 6").value();
  tool.number = 1;
  bench.tools.add(tool);
  return bench;
}

/// A quarter circle of the tool's centre, counter-clockwise, with a wall on one side.
Program quarter(double radius, Side wall, double feed) {
  Program program;
  program.block({motion::ToolSelect{1}, motion::ToolChange{1}});
  program.at = {radius, 0, -1};
  program.arc(PathKind::arc_ccw, Plane::xy, {0, radius, nowhere}, {0, 0, -1}, feed);
  motion_of(program.steps.back())->wall = wall;
  return program;
}

double feed_of_last(std::vector<Step> const& steps) {
  return motion_of(steps.back())->feed;
}

/// A wall round a rectangle of 40 x 30 mm with rounded corners, seen at the tool's centre: the corners'
/// radius and the half sides grow by `out`. Counter-clockwise from the middle of the right side.
void rectangle(Program& program, double out, double z, double feed, double corner = 5, int chords = 0) {
  double const x = 20 + out, y = 15 + out, r = corner + out;
  program.feed(x, 0, nowhere, feed).feed(nowhere, nowhere, z, feed).feed(x, y - r, nowhere, feed);
  for (int k = 0; k < 4; ++k) {
    double const sx = k == 0 || k == 3 ? 1 : -1, sy = k < 2 ? 1 : -1;
    Vec3 const centre{sx * (x - r), sy * (y - r), z};
    double const begin = k * std::numbers::pi / 2;
    if (chords == 0)
      program.arc(PathKind::arc_ccw, Plane::xy,
                  k % 2 == 0 ? Vec3{centre.x, sy * y, z} : Vec3{sx * x, centre.y, z}, centre, feed);
    for (int i = 1; i <= chords; ++i) {
      double const angle = begin + i * std::numbers::pi / 2 / chords;
      program.feed(centre.x + r * std::cos(angle), centre.y + r * std::sin(angle), nowhere, feed);
    }
    if (k == 0) program.feed(-(x - r), y, nowhere, feed);
    if (k == 1) program.feed(-x, -(y - r), nowhere, feed);
    if (k == 2) program.feed(x - r, -y, nowhere, feed);
    if (k == 3) program.feed(x, 0, nowhere, feed);
  }
}

/// Five levels, each `shift` farther out than the one above it; `lead` (mm, inwards below 0): how far beside
/// the contour each level is come in from and left to.
Program levels(double shift, double lead = 0, int chords = 0) {
  Program program;
  program.block({motion::ToolSelect{1}, motion::ToolChange{1}});
  program.at = {60, 0, 5};
  for (int k = 0; k < 5; ++k) {
    double const out = k * shift, z = -0.5 * (k + 1);
    if (lead != 0) program.rapid(20 + out + lead, -2, nowhere).feed(nowhere, nowhere, z, 600);
    rectangle(program, out, z, 600, 5, chords);
    if (lead != 0) program.feed(20 + out + lead, 2, nowhere, 600).rapid_z(5);
  }
  program.rapid_z(20);
  return program;
}

/// A spiral down a vertical wall about the same rectangle in turns of 0.5 mm, with a closing turn at its end.
/// `lead` as for levels.
Program spiral(double lead) {
  Program turns;
  turns.at = {20, 0, 0};
  for (int k = 0; k < 6; ++k)
    rectangle(turns, 0, 0, 600);
  double around = 0;
  for (Step const& step : turns.steps)
    around += motion::length(*motion_of(step)) / 6;
  Program program;
  program.block({motion::ToolSelect{1}, motion::ToolChange{1}});
  program.at = {60, 0, 5};
  program.rapid(20 + lead, -2, nowhere).feed(nowhere, nowhere, -0.5, 600).feed(20, 0, nowhere, 600);
  double way = 0;
  for (Step const& step : turns.steps) {
    motion::Motion const flat = *motion_of(step);
    double const length = motion::length(flat);
    if (length == 0) continue;
    way += length;
    Vec3 const to{flat.to.x, flat.to.y, -0.5 - 0.5 * std::min(way / around, 5.0)};
    if (is_arc(flat))
      program.arc(flat.path, flat.plane, to, flat.centre, 600);
    else
      program.feed(to.x, to.y, to.z, 600);
  }
  program.feed(20 + lead, 2, nowhere, 600).rapid_z(20);
  return program;
}

std::vector<Step> with_walls(Program const& program, Bench& bench) {
  return run(make_restep, program.steps, bench.context);
}

/// What the arcs of a program say about their walls: one letter each.
std::string walls(std::vector<Step> const& steps) {
  std::string all;
  for (Step const& step : steps)
    if (auto const* m = motion_of(step); m && is_arc(*m))
      all += m->wall == Side::left ? 'L' : m->wall == Side::right ? 'R' : '-';
  return all;
}

bool is_corrected(Step const& step) {
  auto const* m = motion_of(step);
  return m && is_cutting(*m) && m->feed < 600;
}

} // namespace

// surface-finish reference, formula (38), case 54: wall radius 10, tool radius 3, factor 0.7 inside. The
// formula is in tool makers' hand-outs on feeds in internal circular interpolation.
TEST_CASE("an inside arc gets the centre feed that keeps the edge at the programmed feed", "[edge-feeds]") {
  Bench bench = bench_with_tool();
  auto const out = run(make_edge_feeds, quarter(7, Side::right, 600).steps, bench.context);
  CHECK_THAT(feed_of_last(out), WithinAbs(420, 1e-9));
  CHECK(out.back().other_feed);
  REQUIRE(bench.edits.all().size() == 1);
  CHECK(bench.edits.all()[0].line == 2);
  CHECK(bench.edits.all()[0].stage == "edge-feeds");
  CHECK(bench.edits.all()[0].why ==
        "F600 mm/min -> F420 mm/min: inside arc, radius 7 mm at the tool's centre and 10 mm at its edge");
}

TEST_CASE("an outside arc keeps its feed", "[edge-feeds]") {
  Bench bench = bench_with_tool();
  auto const in = quarter(13, Side::left, 600).steps;
  CHECK(same_stream(run(make_edge_feeds, in, bench.context), in));
  CHECK(bench.edits.made() == 0);
  CHECK(bench.findings.all().empty());
}

TEST_CASE("an arc keeps its feed where nobody knows its wall or its tool, and that is told", "[edge-feeds]") {
  Bench bench = bench_with_tool(), without;
  for (auto* one : {&bench, &without}) {
    auto const in = quarter(7, one == &bench ? Side::off : Side::right, 600).steps;
    CHECK(same_stream(run(make_edge_feeds, in, one->context), in));
    CHECK(one->found("edge-feeds"));
    CHECK(one->findings.all()[0].line == 2);
  }
}

TEST_CASE("feeds per revolution and inverse-time feeds are lowered in kind", "[edge-feeds]") {
  Bench bench = bench_with_tool();
  for (auto const mode : {motion::FeedMode::per_revolution, motion::FeedMode::inverse_time}) {
    Program program = quarter(7, Side::right, 2);
    motion_of(program.steps.back())->feed_mode = mode;
    CHECK_THAT(feed_of_last(run(make_edge_feeds, program.steps, bench.context)), WithinAbs(1.4, 1e-9));
  }
}

TEST_CASE("a program whose feeds were corrected says so and is not corrected again", "[edge-feeds]") {
  Bench bench = bench_with_tool(), again = bench_with_tool();
  auto const once = run(make_edge_feeds, quarter(7, Side::right, 600).steps, bench.context);
  for (Step const& step : once)
    again.survey.add(step);
  CHECK(same_stream(run(make_edge_feeds, once, again.context), once));
  CHECK(again.edits.made() == 0);
  CHECK(again.found("centre-feeds"));
}

// On the way of a turn dt the centre goes Rc dt and the edge, farther out by the tool's radius, (Rc + Rt) dt.
TEST_CASE("no edge runs along an inside arc faster than the feed says, and none slower than its digits",
          "[edge-feeds][law]") {
  CHECK(rc::check([] {
    Bench bench = bench_with_tool();
    double const radius = *rc::gen::element(0.05, 0.7, 3.0, 24.5, 310.0);
    double const feed = restep::property::draw(20, 4000);
    auto const in = quarter(radius, Side::right, feed).steps;
    auto const out = run(make_edge_feeds, in, bench.context);
    auto const &before = *motion_of(in.back()), &after = *motion_of(out.back());
    RC_ASSERT(same(before.from, after.from) && same(before.to, after.to) &&
              same(before.centre, after.centre));
    double const edge = after.feed * (radius + 3) / radius;
    RC_ASSERT(edge <= feed * (1 + 1e-9));
    RC_ASSERT(edge > feed - bench.context.resolution.feed * (radius + 3) / radius * (1 + 1e-9));
  }));
}

TEST_CASE("deeper levels stand farther from the wall, and so say where it is", "[edge-feeds]") {
  Bench bench = bench_with_tool();
  // Counter-clockwise round a boss that widens downwards the wall is on the left; in a pocket that narrows it
  // is on the right.
  CHECK(walls(with_walls(levels(0.1), bench)) == std::string(20, 'L'));
  CHECK(walls(with_walls(levels(-0.1), bench)) == std::string(20, 'R'));
}

TEST_CASE("at a vertical wall the ways in and out say where it is, and without them nobody does",
          "[edge-feeds]") {
  Bench bench = bench_with_tool();
  CHECK(walls(with_walls(levels(0, 4), bench)) == std::string(20, 'L'));
  CHECK(walls(with_walls(levels(0, -4), bench)) == std::string(20, 'R'));
  CHECK(walls(with_walls(levels(0), bench)) == std::string(20, '-'));
}

TEST_CASE("a spiral on a vertical wall has it on the side from which it is not entered and left",
          "[edge-feeds]") {
  Bench bench = bench_with_tool();
  CHECK(walls(with_walls(spiral(4), bench)) == std::string(24, 'L'));
  CHECK(walls(with_walls(spiral(-4), bench)) == std::string(24, 'R'));
  CHECK(walls(with_walls(spiral(0), bench)) == std::string(24, '-'));
}

TEST_CASE("new levels of a pass know their wall as the old ones do", "[edge-feeds]") {
  Bench bench = bench_with_tool();
  bench.context.target.finish = cutter::parse_finish("cusp:0.02mm").value();
  auto const out = with_walls(levels(-0.1), bench);
  REQUIRE(bench.context.passes.size() == 1);
  REQUIRE(bench.context.passes[0].status == finish::PassStatus::restepped);
  std::string const all = walls(out);
  CHECK(all.size() > 20);
  CHECK(all == std::string(all.size(), 'R'));
}

TEST_CASE("open levels in alternating direction have their wall on alternating sides", "[edge-feeds]") {
  for (bool const restepped : {false, true}) {
    Bench bench = bench_with_tool();
    if (restepped) bench.context.target.finish = cutter::parse_finish("cusp:0.02mm").value();
    Program program;
    program.block({motion::ToolSelect{1}, motion::ToolChange{1}});
    program.at = {-30, 0, 5};
    // Round the underside of a boss about (0, 40), to and fro.
    for (int k = 0; k < 6; ++k) {
      double const r = 30 + 0.1 * k, z = -0.5 * (k + 1), to = k % 2 == 0 ? 1 : -1;
      double const s = std::sin(0.5), c = std::cos(0.5);
      Vec3 const begin{-to * r * s, 40 - r * c, z}, end{to * r * s, 40 - r * c, z};
      program.feed(begin.x - to * 10 * c, begin.y + 10 * s, z, 600).feed(begin.x, begin.y, nowhere, 600);
      program.arc(to > 0 ? PathKind::arc_ccw : PathKind::arc_cw, Plane::xy, end, {0, 40, z}, 600);
      program.feed(end.x + to * 10 * c, end.y + 10 * s, nowhere, 600);
    }
    program.rapid_z(20);
    auto const out = with_walls(program, bench);
    REQUIRE(bench.context.passes.size() == 1);
    CHECK((bench.context.passes[0].status == finish::PassStatus::restepped) == restepped);
    for (Step const& step : out)
      if (auto const* m = motion_of(step); m && is_arc(*m)) {
        CHECK(m->wall == (m->to.x > 0 ? Side::left : Side::right));
      }
  }
}

TEST_CASE("arcs that were given as chords are slowed when they are fitted first", "[edge-feeds]") {
  Bench bench = bench_with_tool();
  auto const marked = with_walls(levels(-0.1, 0, 30), bench);
  CHECK(walls(marked).empty());
  auto const plain = run(make_edge_feeds, marked, bench.context);
  CHECK(std::none_of(plain.begin(), plain.end(), is_corrected));
  auto const out = run(make_edge_feeds, run(make_fit_arcs, marked, bench.context), bench.context);
  CHECK(walls(out) == std::string(20, 'R'));
  CHECK(std::count_if(out.begin(), out.end(), is_corrected) == 20);
}

TEST_CASE("a sharp inside corner keeps its feed and is told, an outside one is not", "[edge-feeds]") {
  for (Side const wall : {Side::left, Side::right}) {
    Bench bench = bench_with_tool();
    Program program;
    program.at = {0, 0, -1};
    program.feed(10, 0, nowhere, 600).feed(10, 10, nowhere, 600); // turns left
    for (Step& step : program.steps)
      motion_of(step)->wall = wall;
    CHECK(same_stream(run(make_edge_feeds, program.steps, bench.context), program.steps));
    CHECK(bench.found("inside-corners") == (wall == Side::left));
  }
}
