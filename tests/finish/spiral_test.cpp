#include "finish/spiral.hpp"
#include "finish/spiral_base.hpp"
#include "finish/spiral_course.hpp"
#include "finish/spiral_find.hpp"
#include "finish/spiral_unroll.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>

using namespace restep;
using finish::Segment;
using finish::SpiralBase;
using geometry::Vec2;

namespace {

/// A plate of 20 x 10 with corners of radius 2, counter-clockwise from the middle of its lower side.
std::vector<Segment> plate() {
  return {{false, false, {0, -5}, {8, -5}, {}, 0},    {true, true, {8, -5}, {10, -3}, {8, -3}, 0},
          {false, false, {10, -3}, {10, 3}, {}, 0},   {true, true, {10, 3}, {8, 5}, {8, 3}, 0},
          {false, false, {8, 5}, {-8, 5}, {}, 0},     {true, true, {-8, 5}, {-10, 3}, {-8, 3}, 0},
          {false, false, {-10, 3}, {-10, -3}, {}, 0}, {true, true, {-10, -3}, {-8, -5}, {-8, -3}, 0},
          {false, false, {-8, -5}, {0, -5}, {}, 0}};
}

/// The same circle of radius 10 in chords.
std::vector<Segment> chords(int count) {
  std::vector<Segment> loop;
  auto const at = [&](int i) {
    double const angle = 2 * std::numbers::pi * (i % count) / count;
    return Vec2{10 * std::cos(angle), 10 * std::sin(angle)};
  };
  for (int i = 0; i < count; ++i)
    loop.push_back({false, false, at(i), at(i + 1), {}, 0});
  return loop;
}

/// Half circles of radius 10 about the origin, falling by 0.1 mm each, then a whole turn at constant height.
std::vector<motion::Step> bore(int halves) {
  std::vector<motion::Step> steps;
  geometry::Vec3 at{10, 0, 0};
  for (int i = 0; i < halves + 2; ++i) {
    motion::Motion m;
    m.path = motion::PathKind::arc_ccw;
    m.from = at;
    at = {-at.x, 0, i < halves ? at.z - 0.1 : at.z};
    m.to = at;
    m.centre = {0, 0, m.from.z};
    m.feed = 300;
    motion::Step step;
    step.event = m;
    step.place.line = static_cast<std::uint32_t>(i + 1);
    steps.push_back(step);
  }
  return steps;
}

/// Turns of radius 10 about the origin, each in so many arcs and falling by 0.2 mm, and nothing behind them.
std::vector<motion::Step> open_bore(int turns, int arcs) {
  std::vector<motion::Step> steps;
  geometry::Vec3 at{10, 0, 0};
  for (int i = 1; i <= turns * arcs; ++i) {
    double const angle = 2 * std::numbers::pi * (i % arcs) / arcs;
    motion::Motion m;
    m.path = motion::PathKind::arc_ccw;
    m.from = at;
    at = i % arcs == 0 ? geometry::Vec3{10, 0, -0.2 * i / arcs}
                       : geometry::Vec3{10 * std::cos(angle), 10 * std::sin(angle), -0.2 * i / arcs};
    m.to = at;
    m.centre = {0, 0, m.from.z};
    m.feed = 300;
    steps.emplace_back().event = m;
    steps.back().place.line = static_cast<std::uint32_t>(i);
  }
  return steps;
}

cutter::Meridian round_and_draft() {
  double const t = geometry::radians(5);
  cutter::Piece round;
  round.shape = cutter::Piece::Shape::arc;
  round.rho = 1.3;
  round.from = {1.3 * std::sin(0.4), 1.3 * std::cos(0.4)};
  round.to = {1.3 * std::cos(t), 1.3 * std::sin(t)};
  cutter::Piece draft;
  draft.from = round.to;
  draft.to = round.to + 1.5 * Vec2{std::sin(t), -std::cos(t)};
  return cutter::Meridian({round, draft});
}

} // namespace

TEST_CASE("a point that was put at a place of a contour is found at that place", "[finish][spiral]") {
  auto const base = SpiralBase::from(plate()).value();
  CHECK(base.length() == Approx(2 * (16 + 6) + 4 * std::numbers::pi));
  for (double u = 0; u < base.length(); u += 0.37)
    for (double const w : {-3.0, -0.2, 0.0, 0.5, 1.9}) {
      INFO("u " << u << " w " << w);
      auto const place = base.place_of(base.point(u, w), u - 2, u + 2);
      REQUIRE(place);
      CHECK(place->u == Approx(u).margin(1e-9));
      CHECK(place->w == Approx(w).margin(1e-9));
    }
}

TEST_CASE("places of a contour are counted on from turn to turn", "[finish][spiral]") {
  auto const base = SpiralBase::from(plate()).value();
  for (int const turn : {-3, -1, 0, 2}) {
    double const u = 17 + turn * base.length();
    auto const place = base.place_of(base.point(u, 0.3), u - 1, u + 1);
    REQUIRE(place);
    CHECK(place->u == Approx(u));
  }
}

TEST_CASE("an offset of a contour stops where its arcs vanish", "[finish][spiral]") {
  auto const base = SpiralBase::from(plate()).value();
  CHECK(base.highest() == Approx(2)); // left of a counter-clockwise course is inside
  CHECK_FALSE(base.place_of({0, -2.9}, -1, 1));
}

TEST_CASE("of a circle in chords the circle is taken", "[finish][spiral]") {
  auto const base = SpiralBase::from(chords(90)).value();
  CHECK(base.chord_tolerance() == Approx(10 * (1 - std::cos(std::numbers::pi / 90))).epsilon(0.01));
  for (double u = 0.1; u < base.length(); u += 0.41) {
    // 1 % of the chords' own error
    CHECK(geometry::length(base.point(u, 0)) == Approx(10).margin(0.01 * base.chord_tolerance()));
    auto const place = base.place_of(base.point(u, -1), u - 1, u + 1);
    REQUIRE(place);
    CHECK(place->w == Approx(-1).margin(1e-9));
  }
}

TEST_CASE("an arc that begins at a corner has no known offsets", "[finish][spiral]") {
  auto loop = plate();
  loop[1] = {false, false, {8, -5}, {10, -3}, {}, 0};
  CHECK(SpiralBase::from(loop)); // lines may meet at any corner
  loop[2] = {true, true, {10, -3}, {10, 3}, {8, 0}, 0};
  CHECK_FALSE(SpiralBase::from(loop));
}

TEST_CASE("a spiral is told from a way in by its turns", "[finish][spiral]") {
  for (int const halves : {2, 3, 4, 5, 12}) {
    INFO(halves << " half turns");
    auto const steps = bore(halves);
    auto const spirals = finish::find_spirals(steps, 3);
    if (halves < 4) {
      CHECK(spirals.empty());
      continue;
    }
    REQUIRE(spirals.size() == 1);
    REQUIRE(spirals[0].spiral);
    finish::UnrolledSpiral const& spiral = *spirals[0].spiral;
    CHECK(spirals[0].first_step == 0);
    CHECK(spirals[0].last_step == steps.size() - 1);
    CHECK(spiral.turns == Approx(0.5 * halves));
    CHECK(spiral.away == 0);
    CHECK(spiral.at(1.25).y == Approx(-0.25));
  }
}

TEST_CASE("turns that end without one at one height are found in whole circles as in parts of them",
          "[finish][spiral]") {
  for (int const arcs : {1, 2, 4}) {
    INFO(arcs << " arcs a turn");
    auto const runs = finish::find_spiral_runs(open_bore(8, arcs), 3);
    REQUIRE(runs.size() == 1);
    CHECK(runs[0].goes_round);
    CHECK(runs[0].first == 0);
    CHECK(runs[0].last == static_cast<std::size_t>(8 * arcs - 1));
    // A way in has the shape of a bore; what is about as narrow as the tool is taken for one.
    CHECK(finish::find_spiral_runs(open_bore(8, arcs), 20).empty());
  }
}

TEST_CASE("what is cut at one height only is no spiral", "[finish][spiral]") {
  CHECK(finish::find_spiral_runs(bore(0), 3).empty());
}

TEST_CASE("a course leaves the same cusp at every place round the contour", "[finish][spiral]") {
  auto const meridian = round_and_draft();
  auto const tool = cutter::parse_tool("bull 3 r0.3").value();
  cutter::FinishTarget target;
  target.limit = 0.002;
  for (double const part : {0.0, 0.25, 0.731}) {
    INFO("beginning " << part << " of a turn before the end");
    auto const course = finish::SpiralCourse::plan(meridian, tool, target, {}, part);
    CHECK(course.turns() - std::floor(course.turns()) == Approx(part).margin(1e-9));
    CHECK(course.s(0) == 0);
    CHECK(course.s(course.turns()) == meridian.length());
    double least = 1;
    double most = 0;
    double last = 0;
    for (double t = 1; t <= course.turns(); t += 0.0137) {
      CHECK(course.s(t) >= last);
      last = course.s(t);
      double const cusp =
          cutter::cusp_height(tool, meridian, meridian.at(course.s(t - 1)), meridian.at(last));
      least = std::min(least, cusp);
      most = std::max(most, cusp);
    }
    CHECK(most <= 0.002 * 1.001);
    CHECK(least >= 0.99 * most);
  }
}

TEST_CASE("a course has no more turns than levels would need, but for the part of one", "[finish][spiral]") {
  auto const meridian = round_and_draft();
  auto const tool = cutter::parse_tool("bull 3 r0.3").value();
  cutter::FinishTarget target;
  target.limit = 0.001;
  auto const levels = cutter::plan_levels(meridian, tool, target, {}).s.size();
  for (double const part : {0.0, 0.4, 0.9}) {
    double const turns = finish::SpiralCourse::plan(meridian, tool, target, {}, part).turns();
    CHECK(turns >= static_cast<double>(levels) - 2);
    CHECK(turns <= static_cast<double>(levels));
  }
}
