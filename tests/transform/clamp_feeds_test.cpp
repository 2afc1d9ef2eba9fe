#include "steps.hpp"
#include "tests/draw.hpp"
#include "transform/clamp_feeds.hpp"

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

namespace {

double feed_of(Step const& step) {
  return motion_of(step)->feed;
}

/// One line from the origin, clamped.
double clamped_line(Bench& bench, Vec3 to, double feed) {
  Program program;
  program.at = {0, 0, 0};
  program.feed(to.x, to.y, to.z, feed);
  return feed_of(run(make_clamp_feeds, program.steps, bench.context).at(0));
}

Bench striker_mill() {
  Bench bench;
  bench.machine.max_feed = {2000, 1500, 500};
  bench.machine.max_plunge = 300;
  bench.machine.acceleration = {200, 150, 100};
  return bench;
}

motion::Machine random_machine() {
  auto const limit = [] { return *rc::gen::element(0.0, 100.0, 333.3, 750.0, 2000.0); };
  motion::Machine machine;
  machine.max_feed = {limit(), limit(), limit()};
  machine.max_plunge = limit();
  machine.acceleration = {limit(), limit(), limit()};
  return machine;
}

double coordinate() {
  return restep::property::draw(-20000, 20001) * 0.001;
}
Vec3 point() {
  return {coordinate(), coordinate(), coordinate()};
}

/// Lines, arcs and helices in all planes, in all feed modes, each from where the last one ended.
Program random_program() {
  Program program;
  program.at = point();
  program(motion::SpindleSpeed{static_cast<double>(restep::property::draw(100, 20000))});
  int const count = restep::property::draw(1, 12);
  for (int i = 0; i < count; ++i) {
    double const feed = restep::property::draw(1, 5000000) * 0.001;
    auto const mode = *rc::gen::element(motion::FeedMode::per_minute, motion::FeedMode::inverse_time,
                                        motion::FeedMode::per_revolution);
    if (*rc::gen::arbitrary<bool>()) {
      Vec3 const to = point();
      program.feed(to.x, to.y, to.z, feed);
    } else {
      Plane const plane = *rc::gen::element(Plane::xy, Plane::zx, Plane::yz);
      motion::PlaneAxes const axes = motion::axes_of(plane);
      Vec3 const centre = point();
      double const turn = restep::property::draw(0, 6284) * 0.001;
      double const dx = program.at[axes.first] - centre[axes.first];
      double const dy = program.at[axes.second] - centre[axes.second];
      Vec3 to = program.at;
      to[axes.first] = centre[axes.first] + dx * std::cos(turn) - dy * std::sin(turn);
      to[axes.second] = centre[axes.second] + dx * std::sin(turn) + dy * std::cos(turn);
      to[axes.normal] += *rc::gen::element(0.0, 0.5, -2.0, -30.0);
      program.arc(*rc::gen::element(PathKind::arc_cw, PathKind::arc_ccw), plane, to, centre, feed);
    }
    motion_of(program.steps.back())->feed_mode = mode;
  }
  return program;
}

/// The speed along a motion in mm/min, from first principles.
double speed_of(motion::Motion const& motion, double rpm) {
  switch (motion.feed_mode) {
  case motion::FeedMode::per_minute: return motion.feed;
  case motion::FeedMode::inverse_time: return motion.feed * motion::length(motion);
  case motion::FeedMode::per_revolution: return motion.feed * rpm;
  }
  return 0;
}

/// The largest excess over any limit, as a share of it, found by walking along the path in small pieces.
double excess(motion::Motion const& motion, double speed, motion::Machine const& machine) {
  constexpr int pieces = 2000;
  double worst = 0;
  for (int i = 0; i < pieces; ++i) {
    Vec3 const a = motion::point_at(motion, double(i) / pieces);
    Vec3 const b = motion::point_at(motion, double(i + 1) / pieces);
    double const step = geometry::length(b - a);
    if (!(step > 1e-9)) continue;
    for (int axis = 0; axis < 3; ++axis)
      if (machine.max_feed[axis] > 0)
        worst = std::max(worst, std::abs(b[axis] - a[axis]) / step * speed / machine.max_feed[axis]);
    if (machine.max_plunge > 0) worst = std::max(worst, (a.z - b.z) / step * speed / machine.max_plunge);
  }
  return worst - 1;
}

} // namespace

TEST_CASE("a 45 degree ramp may feed the root of two times what Z may", "[clamp-feeds]") {
  Bench bench;
  bench.machine.max_feed = {0, 0, 500};
  CHECK_THAT(clamped_line(bench, {10, 0, -10}, 1000), WithinAbs(707.106, 1e-9));
  CHECK(bench.context.feeds.clamped == 1);
  CHECK_THAT(bench.context.feeds.lowest_ratio, WithinAbs(0.707106, 1e-9));
  REQUIRE(bench.edits.all().size() == 1);
  CHECK(bench.edits.all()[0].why == "F1000 mm/min -> F707.106 mm/min: Z feeds at most 500 mm/min");
  CHECK(bench.edits.all()[0].stage == "clamp-feeds");
}

TEST_CASE("only the way down is limited by the plunge feed", "[clamp-feeds]") {
  Bench bench;
  bench.machine.max_plunge = 300;
  CHECK(clamped_line(bench, {0, 0, -10}, 1000) == 300);
  CHECK(clamped_line(bench, {0, 0, 10}, 1000) == 1000);
  CHECK_THAT(clamped_line(bench, {3, 0, -4}, 1000), WithinAbs(375, 1e-9));
}

TEST_CASE("a machine without limits changes nothing", "[clamp-feeds]") {
  Bench bench;
  CHECK(clamped_line(bench, {1, 2, -3}, 100000) == 100000);
  CHECK(bench.edits.made() == 0);
}

TEST_CASE("a feed at its limit is left as it is", "[clamp-feeds]") {
  Bench bench = striker_mill();
  CHECK(clamped_line(bench, {10, 0, 0}, 2000) == 2000);
  CHECK(bench.edits.made() == 0);
}

TEST_CASE("an axis whose start is not known may carry the whole feed", "[clamp-feeds]") {
  Bench bench = striker_mill();
  Program program;
  program.at = {0, 0, motion::unknown};
  program.feed(10, 0, 5, 1000).feed(20, 0, nowhere, 1000);
  auto const out = run(make_clamp_feeds, program.steps, bench.context);
  CHECK(feed_of(out[0]) == 300);
  CHECK(feed_of(out[1]) == 1000);
}

TEST_CASE("a small circle is driven no faster than the acceleration allows", "[clamp-feeds]") {
  Bench bench;
  bench.machine.acceleration = {200, 50, 0};
  Program program;
  program.at = {0.5, 0, 0};
  program.arc(PathKind::arc_ccw, Plane::xy, {0.5, 0, 0}, {0, 0, 0}, 1000);
  // sqrt(50 mm/s^2 * 0.5 mm) = 5 mm/s
  CHECK_THAT(feed_of(run(make_clamp_feeds, program.steps, bench.context)[0]), WithinAbs(300, 1e-9));
  CHECK(bench.edits.all()[0].why ==
        "F1000 mm/min -> F300 mm/min: the acceleration allows 300 mm/min on the radius 0.5 mm");
}

TEST_CASE("under cutter compensation the tool's centre may run on the smaller circle", "[clamp-feeds]") {
  Bench bench;
  bench.machine.acceleration = {50, 50, 0};
  cutter::Tool tool;
  tool.number = 3;
  tool.diameter = 3;
  bench.tools.add(tool);
  Program program;
  program.at = {2, 0, 0};
  program(motion::ToolChange{3});
  program.arc(PathKind::arc_ccw, Plane::xy, {2, 0, 0}, {0, 0, 0}, 1000);
  motion_of(program.steps.back())->compensated = true;
  CHECK_THAT(feed_of(run(make_clamp_feeds, program.steps, bench.context)[1]), WithinAbs(300, 1e-9));
}

TEST_CASE("an arc that does not reach the steep part may go faster than one that does", "[clamp-feeds]") {
  Bench bench;
  bench.machine.max_feed = {0, 0, 500};
  Program flat, steep; // in the ZX plane around the origin, over the top and down the side
  flat.at = {-1, 0, 10};
  flat.arc(PathKind::arc_ccw, Plane::zx, {1, 0, 10}, {0, 0, 0}, 5000);
  steep.at = {10, 0, 1};
  steep.arc(PathKind::arc_ccw, Plane::zx, {10, 0, -1}, {0, 0, 0}, 5000);
  double const over = feed_of(run(make_clamp_feeds, flat.steps, bench.context)[0]);
  double const down = feed_of(run(make_clamp_feeds, steep.steps, bench.context)[0]);
  CHECK(over == 5000);
  CHECK_THAT(down, WithinAbs(500, 1e-9));
}

TEST_CASE("a drilling cycle is limited by the plunge feed", "[clamp-feeds]") {
  Bench bench = striker_mill();
  motion::Cycle cycle;
  cycle.feed = 400;
  Program program;
  program(cycle);
  auto const out = run(make_clamp_feeds, program.steps, bench.context);
  CHECK(std::get<motion::Cycle>(out[0].event).feed == 300);
}

TEST_CASE("a tapping cycle above the limit is an error and stays as it is", "[clamp-feeds]") {
  Bench bench = striker_mill();
  motion::Cycle cycle;
  cycle.code = 840;
  cycle.feed = 400;
  Program program;
  program(cycle);
  auto const out = run(make_clamp_feeds, program.steps, bench.context);
  CHECK(std::get<motion::Cycle>(out[0].event).feed == 400);
  CHECK(bench.found("tapping-feed"));
  CHECK(bench.findings.has_errors());
}

TEST_CASE("a probe's feed is limited like a cut's", "[clamp-feeds]") {
  Bench bench = striker_mill();
  motion::Probe probe;
  probe.from = {0, 0, 10};
  probe.to = {0, 0, 0};
  probe.feed = 1000;
  Program program;
  program(probe);
  CHECK(std::get<motion::Probe>(run(make_clamp_feeds, program.steps, bench.context)[0].event).feed == 300);
}

TEST_CASE("inverse-time and per-revolution feeds are limited in their own kind", "[clamp-feeds]") {
  Bench bench = striker_mill();
  Program program;
  program.at = {0, 0, 0};
  program(motion::SpindleSpeed{10000});
  program.feed(50, 0, 0, 100).feed(0, 0, 0, 0.5);
  motion_of(program.steps[1])->feed_mode = motion::FeedMode::inverse_time;
  motion_of(program.steps[2])->feed_mode = motion::FeedMode::per_revolution;
  auto const out = run(make_clamp_feeds, program.steps, bench.context);
  CHECK_THAT(feed_of(out[1]), WithinAbs(40, 1e-9)); // 40 / min over 50 mm = 2000 mm/min
  CHECK_THAT(feed_of(out[2]), WithinAbs(0.2, 1e-9));
}

TEST_CASE("a feed per revolution without a spindle speed is left with a warning", "[clamp-feeds]") {
  Bench bench = striker_mill();
  Program program;
  program.at = {0, 0, 0};
  program.feed(50, 0, 0, 100);
  motion_of(program.steps[0])->feed_mode = motion::FeedMode::per_revolution;
  CHECK(feed_of(run(make_clamp_feeds, program.steps, bench.context)[0]) == 100);
  CHECK(bench.found("feed-unproven"));
}

TEST_CASE("an inch program's feed is rounded down to a thousandth of an inch", "[clamp-feeds]") {
  Bench bench;
  bench.machine.max_feed = {1000, 0, 0};
  Program program;
  program.modes.units = motion::Units::inch;
  program.at = {0, 0, 0};
  program.feed(50, 0, 0, 2540);
  auto const out = run(make_clamp_feeds, program.steps, bench.context);
  CHECK_THAT(feed_of(out[0]) / 25.4, WithinAbs(39.370, 1e-9));
  CHECK(bench.edits.all()[0].why == "F100 inch/min -> F39.37 inch/min: X feeds at most 39.37 inch/min");
}

TEST_CASE("on consecutive lines the reason is given once", "[clamp-feeds]") {
  Bench bench = striker_mill();
  Program program;
  program.at = {0, 0, 0};
  program.feed(50, 0, 0, 3000).feed(0, 12, 0, 3000).feed(0, 60, 0, 3000);
  run(make_clamp_feeds, program.steps, bench.context);
  REQUIRE(bench.edits.all().size() == 3);
  CHECK(bench.edits.all()[1].why == "F3000 mm/min -> F2056.793 mm/min, as above");
  CHECK(bench.edits.all()[2].why == "F3000 mm/min -> F1500 mm/min: Y feeds at most 1500 mm/min");
}

TEST_CASE("a lowered feed that goes on is one edit", "[clamp-feeds]") {
  Bench bench = striker_mill();
  Program program;
  program.at = {0, 0, 0};
  program.feed(50, 0, 0, 3000).feed(0, 0, 0, 3000).rapid(0, 0, 0).feed(-50, 0, 0, 3000).feed(-50, 0, 1, 400);
  program.feed(0, 0, 1, 3000);
  auto const out = run(make_clamp_feeds, program.steps, bench.context);
  for (std::size_t const i : {0, 1, 3, 5}) {
    CHECK(feed_of(out[i]) == 2000);
    CHECK(out[i].other_feed);
  }
  CHECK(bench.edits.made() == 2); // F400 stands between
  CHECK(bench.context.feeds.clamped == 4);
}

// |cos| and |sin| of the direction times the feed may be 2000 and no more. Once round, from the least to the
// most that is allowed and back, four times each: ln(sqrt 2) / ln(1 / 0.995) = 69.1 steps of half a percent.
TEST_CASE("chords of a circle share a feed that is at most 1 % below what each may have", "[clamp-feeds]") {
  Bench bench;
  bench.machine.max_feed = {2000, 2000, 0};
  Program program;
  constexpr int chords = 7200;
  auto const at = [](int i) {
    double const angle = 2 * std::numbers::pi * i / chords;
    return Vec3{20 * std::cos(angle), 20 * std::sin(angle), 0};
  };
  program.at = at(0);
  for (int i = 1; i <= chords; ++i)
    program.feed(at(i).x, at(i).y, 0, 5000);
  auto const out = run(make_clamp_feeds, program.steps, bench.context);
  for (int i = 0; i < chords; ++i) {
    Vec3 const way = at(i + 1) - at(i);
    double const most = 2000 * geometry::length(way) / std::max(std::abs(way.x), std::abs(way.y));
    double const feed = feed_of(out[static_cast<std::size_t>(i)]);
    CHECK(feed <= most * (1 + 1e-9));
    CHECK(feed >= 0.99 * most - 0.002);
  }
  CHECK(bench.edits.made() < 8 * 69.2);
  CHECK(bench.context.feeds.clamped == chords);
}

TEST_CASE("after clamping no point of any path is above a limit", "[clamp-feeds][law]") {
  CHECK(rc::check([] {
    Bench bench;
    bench.machine = random_machine();
    Program const program = random_program();
    double rpm = 0;
    for (Step const& step : run(make_clamp_feeds, program.steps, bench.context)) {
      if (auto const* speed = std::get_if<motion::SpindleSpeed>(&step.event)) rpm = speed->rpm;
      auto const* motion = motion_of(step);
      // A feed too small for the digits of F cannot be rounded down.
      if (!motion || motion->feed < 0.001) continue;
      // 1e-6: the pieces of a polyline are chords, and the ends of the random arcs carry rounding.
      RC_ASSERT(excess(*motion, speed_of(*motion, rpm), bench.machine) < 1e-6);
    }
  }));
}

TEST_CASE("after clamping no arc asks for more acceleration than its plane's axes have",
          "[clamp-feeds][law]") {
  CHECK(rc::check([] {
    Bench bench;
    bench.machine = random_machine();
    Program const program = random_program();
    double rpm = 0;
    for (Step const& step : run(make_clamp_feeds, program.steps, bench.context)) {
      if (auto const* speed = std::get_if<motion::SpindleSpeed>(&step.event)) rpm = speed->rpm;
      auto const* arc = motion_of(step);
      if (!arc || !is_arc(*arc) || arc->feed < 0.001) continue;
      motion::PlaneAxes const axes = motion::axes_of(arc->plane);
      Vec3 flat = motion::direction_at(*arc, 0.5);
      flat[axes.normal] = 0;
      double const v = speed_of(*arc, rpm) / 60 * geometry::length(flat);
      for (int axis : {axes.first, axes.second})
        if (bench.machine.acceleration[axis] > 0)
          RC_ASSERT(v * v <= bench.machine.acceleration[axis] * motion::radius(*arc) * (1 + 1e-6));
    }
  }));
}

TEST_CASE("clamping twice changes nothing more", "[clamp-feeds][law]") {
  CHECK(rc::check([] {
    Bench bench, again;
    bench.machine = again.machine = random_machine();
    Program const program = random_program();
    auto const once = run(make_clamp_feeds, program.steps, bench.context);
    RC_ASSERT(same_stream(run(make_clamp_feeds, once, again.context), once));
    RC_ASSERT(again.edits.made() == 0u);
  }));
}

TEST_CASE("clamping moves no point, raises no feed and drops no step", "[clamp-feeds][law]") {
  CHECK(rc::check([] {
    Bench bench;
    bench.machine = random_machine();
    Program const program = random_program();
    auto const out = run(make_clamp_feeds, program.steps, bench.context);
    RC_ASSERT(out.size() == program.steps.size());
    for (std::size_t i = 0; i < out.size(); ++i) {
      auto const *before = motion_of(program.steps[i]), *after = motion_of(out[i]);
      if (!before) continue;
      RC_ASSERT(same(before->from, after->from) && same(before->to, after->to) &&
                same(before->centre, after->centre) && before->path == after->path);
      RC_ASSERT(after->feed <= before->feed);
      RC_ASSERT(out[i].other_feed == (after->feed != before->feed));
    }
  }));
}
