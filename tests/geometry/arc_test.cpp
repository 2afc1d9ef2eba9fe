#include "geometry/arc.hpp"

#include <catch2/catch.hpp>

using namespace restep::geometry;

TEST_CASE("an arc sweeps in its own direction") {
  Arc2 arc{{1, 0}, {0, 1}, {0, 0}, true};
  CHECK(arc.sweep() == Approx(std::numbers::pi / 2));
  arc.ccw = false;
  CHECK(arc.sweep() == Approx(-3 * std::numbers::pi / 2));
  CHECK(arc.length() == Approx(3 * std::numbers::pi / 2));
}

TEST_CASE("start and end that coincide are a full circle") {
  Arc2 const arc{{1, 0}, {1, 0}, {0, 0}, false};
  CHECK(arc.sweep() == -2 * std::numbers::pi);
  CHECK(arc.length() == Approx(2 * std::numbers::pi));
}

TEST_CASE("quadrant points come out to the last digit") {
  Vec2 const centre{10.3, -4.7};
  Arc2 const arc{centre + Vec2{2.5, 0}, centre + Vec2{2.5, 0}, centre, true};
  CHECK(arc.at(0.25) == centre + Vec2{0, 2.5});
  CHECK(arc.at(0.5) == centre + Vec2{-2.5, 0});
  CHECK(arc.at(0.75) == centre + Vec2{0, -2.5});
  CHECK(Arc2::turned({3, 4}, -std::numbers::pi / 2) == Vec2{4, -3});
}

TEST_CASE("an arc meets its own ends to the last digit even when its radii differ") {
  Arc2 const arc{{1.0004, 0}, {0.3, 0.9535}, {0, 0}, true};
  CHECK(arc.at(0) == arc.start);
  CHECK(arc.at(1) == arc.end);
  CHECK(distance(arc.at(1 - 1e-9), arc.end) < 1e-8);
}

TEST_CASE("the point nearest to a point beside an arc is the foot of its normal") {
  for (bool const ccw : {true, false}) {
    Arc2 const arc{{3, 0}, {0, -3}, {0, 0}, ccw};
    for (double t = 0; t <= 1; t += 0.1)
      for (double const factor : {0.7, 1.0, 1.4})
        CHECK(arc.nearest(factor * arc.at(t)) == Approx(t).margin(1e-12));
  }
}

TEST_CASE("beyond an arc the nearer end is nearest") {
  Arc2 const arc{{1, 0}, {0, 1}, {0, 0}, true};
  CHECK(arc.nearest({1, -0.5}) == 0);
  CHECK(arc.nearest({-0.5, 1}) == 1);
  CHECK(arc.nearest({0, 0}) == 0);
}

TEST_CASE("an arc travels along its tangent") {
  for (bool const ccw : {true, false}) {
    Arc2 const arc{{2, 1}, {-1, 2}, {0, 0}, ccw};
    for (double t = 0.05; t < 1; t += 0.1) {
      Vec2 const along = normalized(arc.at(t + 1e-6) - arc.at(t - 1e-6));
      CHECK(distance(along, arc.direction(t)) < 1e-8);
    }
  }
}
