#include "courses.hpp"
#include "steps.hpp"
#include "transform/fit_arcs.hpp"
#include "transform/join_lines.hpp"

#include <catch2/catch.hpp>

#include <random>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using Catch::Matchers::Contains;

namespace {

constexpr double cutting_feed = 600;

std::vector<Step> joined(std::vector<Step> const& steps, double tolerance = 0.002) {
  Bench bench;
  bench.context.path_tolerance = tolerance;
  return run(make_join_lines, steps, bench.context);
}

double to_micron(double value) {
  return std::round(value * 1000) / 1000;
}

/// A straight way in pieces of any length, their ends rounded to the micrometre.
Program straight(Vec3 from, Vec3 to, int pieces, std::mt19937& random) {
  std::vector<double> shares{1};
  for (int i = 1; i < pieces; ++i)
    shares.push_back(std::uniform_real_distribution<double>(0.001, 0.999)(random));
  std::sort(shares.begin(), shares.end());
  Program program;
  program.at = from;
  for (double const t : shares) {
    Vec3 const p = from + t * (to - from);
    program.feed(to_micron(p.x), to_micron(p.y), to_micron(p.z), cutting_feed);
  }
  return program;
}

} // namespace

TEST_CASE("lines in one direction become one, in the plane and in space", "[join-lines]") {
  std::mt19937 random(3);
  for (Vec3 const to : {Vec3{40, 0, 0}, Vec3{40, 17, 0}, Vec3{40, 17, -35}, Vec3{0, 0, -30}}) {
    auto const steps = straight({0, 0, 0}, to, 12, random).steps;
    auto const out = joined(steps);
    INFO(words(out));
    REQUIRE(out.size() == 1);
    CHECK(motion_of(out[0])->from == Vec3{0, 0, 0});
    CHECK(motion_of(out[0])->to == to);
    CHECK(out[0].touched);
    CHECK(out[0].place.line == 1);
  }
}

TEST_CASE("no joined path is further from the lines than the tolerance, by a measure of its own",
          "[join-lines]") {
  std::mt19937 random(11);
  auto const between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 60; ++i) {
    // A way that bends now and then, with steps of all lengths.
    Program program;
    program.at = {0, 0, 0};
    double heading = between(0, 6);
    Vec3 at{};
    for (int k = 0; k < 120; ++k) {
      if (k % 15 == 0) heading += between(-0.3, 0.3);
      double const step = std::exp(between(-3, 1));
      at = at + step * Vec3{std::cos(heading), std::sin(heading), i % 2 == 0 ? 0.0 : -0.2};
      program.feed(to_micron(at.x), to_micron(at.y), to_micron(at.z), cutting_feed);
    }
    double const tolerance = between(0.001, 0.005);
    auto const out = joined(program.steps, tolerance);
    CHECK(out.size() < program.steps.size());
    CHECK(courses_apart(program.steps, out) <= tolerance + 1e-6);
    // No end was invented.
    for (Step const& step : out) {
      Vec3 const to = motion_of(step)->to;
      CHECK(std::any_of(program.steps.begin(), program.steps.end(),
                        [&](Step const& s) { return motion_of(s)->to == to; }));
    }
  }
}

TEST_CASE("joining twice joins nothing more on straight ways and on arcs in chords", "[join-lines]") {
  std::mt19937 random(5);
  Program ways;
  ways.at = {0, 0, 0};
  Vec3 at{};
  for (Vec3 const corner : {Vec3{30, 0, 0}, Vec3{30, 20, 0}, Vec3{5, 20, 0}, Vec3{5, 3, 0}}) {
    for (int i = 1; i <= 25; ++i) {
      Vec3 const p = at + (i / 25.0) * (corner - at);
      ways.feed(to_micron(p.x), to_micron(p.y), 0, cutting_feed);
    }
    at = corner;
  }
  auto const once = joined(ways.steps);
  CHECK(once.size() == 4);
  CHECK(same_stream(joined(once), once));
  for (double const radius : {2.0, 10.0, 75.0}) {
    Program arc;
    arc.at = {radius, 0, 0};
    for (int i = 1; i <= 300; ++i)
      arc.feed(radius * std::cos(i * 0.05 / radius), radius * std::sin(i * 0.05 / radius), 0, cutting_feed);
    auto const bends = joined(arc.steps);
    CHECK(bends.size() < arc.steps.size());
    CHECK(same_stream(joined(bends), bends));
  }
}

TEST_CASE("no line goes across a corner, a level, a feed, a rapid or a remark, and none turns back",
          "[join-lines]") {
  auto const program = [](auto const& between) {
    Program p;
    p.at = {0, 0, 0};
    p.feed(5, 0, 0, cutting_feed).feed(10, 0, 0, cutting_feed);
    between(p);
    return joined(p.steps);
  };
  CHECK(words(program([](Program& p) { p.feed(15, 0, 0, cutting_feed); })) == "G1 X15Y0Z0F600");
  CHECK(words(program([](Program& p) { p.feed(15, 5, 0, cutting_feed); })) ==
        "G1 X10Y0Z0F600 | G1 X15Y5Z0F600");
  CHECK(words(program([](Program& p) { p.feed(15, 0, 0, 500); })) == "G1 X10Y0Z0F600 | G1 X15Y0Z0F500");
  CHECK(words(program([](Program& p) { p.rapid(15, 0, 0); })) == "G1 X10Y0Z0F600 | G0 X15Y0Z0");
  CHECK(words(program([](Program& p) { p.feed(5, 0, 0, cutting_feed); })) ==
        "G1 X10Y0Z0F600 | G1 X5Y0Z0F600");
  CHECK(words(program([](Program& p) { p.feed(15, 0, -0.001, cutting_feed); })) ==
        "G1 X10Y0Z0F600 | G1 X15Y0Z-0.001F600");
  CHECK(words(program([](Program& p) {
          p(motion::Comment{"here", false}).feed(15, 0, 0, cutting_feed);
        })) == "G1 X10Y0Z0F600 | (here) | G1 X15Y0Z0F600");
  // A corner of 20 degrees within the tolerance is a corner all the same.
  CHECK(words(program([](Program& p) {
          p.feed(10.004, 0.0015, 0, cutting_feed).feed(15, 0.0015, 0, cutting_feed);
        })) == "G1 X10Y0Z0F600 | G1 X10.004Y0.002Z0F600 | G1 X15Y0.002Z0F600");
}

TEST_CASE("lines are joined behind arcs, and what bends is left to the arcs", "[join-lines]") {
  Program program;
  program.at = {10, 0, 0};
  for (int i = 1; i <= 180; ++i)
    program.feed(to_micron(10 * std::cos(i * 0.01)), to_micron(10 * std::sin(i * 0.01)), 0, cutting_feed);
  Vec3 const end = program.at;
  for (int i = 1; i <= 20; ++i)
    program.feed(to_micron(end.x - std::sin(1.8) * i * 0.5), to_micron(end.y + std::cos(1.8) * i * 0.5), 0,
                 cutting_feed);
  Bench bench;
  auto const arcs = run(make_fit_arcs, program.steps, bench.context);
  auto const out = run(make_join_lines, arcs, bench.context);
  CHECK(count_arcs(out) == 1);
  CHECK(out.size() <= 3);
  CHECK(courses_apart(program.steps, out) < 0.0021);
  CHECK(bench.found("join-lines"));
}

TEST_CASE("a run longer than memory allows is joined in parts", "[join-lines]") {
  Program program;
  program.at = {0, 0, 0};
  for (int i = 1; i <= 10'000; ++i)
    program.feed(0.01 * i, 0, 0, cutting_feed);
  auto const out = joined(program.steps);
  CHECK(out.size() == 3);
  CHECK(motion_of(out.back())->to.x == 100);
}
