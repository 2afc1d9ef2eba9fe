#include "geometry/intersect.hpp"

#include <catch2/catch.hpp>

#include <random>

using namespace restep::geometry;

TEST_CASE("two lines meet on both") {
  auto const p = line_line({0, 0}, {2, 2}, {0, 4}, {4, 0});
  REQUIRE(p);
  CHECK(distance(*p, {2, 2}) < 1e-15);
  CHECK_FALSE(line_line({0, 0}, {1, 1}, {3, 0}, {4, 1}));
  CHECK_FALSE(line_line({0, 0}, {0, 0}, {3, 0}, {4, 1}));
}

TEST_CASE("a line meets a circle in the order of its direction") {
  Circle const circle{{1, 2}, 5};
  auto const p = line_circle({-10, 5}, {0, 5}, circle);
  REQUIRE(p.size() == 2);
  CHECK(distance(p[0], {-3, 5}) < 1e-14);
  CHECK(distance(p[1], {5, 5}) < 1e-14);
}

TEST_CASE("a line that misses touching by rounding touches") {
  Circle const circle{{0, 0}, 1};
  for (double const off : {-1e-10, 0.0, 1e-10}) {
    auto const p = line_circle({-3, 1 + off}, {3, 1 + off}, circle);
    REQUIRE(p.size() == 1);
    CHECK(distance(p[0], {0, 1}) < 1e-9);
  }
  CHECK(line_circle({-3, 1.001}, {3, 1.001}, circle).empty());
  CHECK(line_circle({-3, 0.999}, {3, 0.999}, circle).size() == 2);
}

TEST_CASE("two circles meet on both, the left one first") {
  auto const p = circle_circle({{0, 0}, 5}, {{6, 0}, 5});
  REQUIRE(p.size() == 2);
  CHECK(distance(p[0], {3, 4}) < 1e-14);
  CHECK(distance(p[1], {3, -4}) < 1e-14);
}

TEST_CASE("circles that miss touching by rounding touch") {
  for (double const off : {-1e-10, 0.0, 1e-10}) {
    auto const outside = circle_circle({{0, 0}, 2}, {{3 + off, 0}, 1});
    REQUIRE(outside.size() == 1);
    CHECK(distance(outside[0], {2, 0}) < 1e-9);
    auto const inside = circle_circle({{0, 0}, 3}, {{2 + off, 0}, 1});
    REQUIRE(inside.size() == 1);
    CHECK(distance(inside[0], {3, 0}) < 1e-9);
    auto const around = circle_circle({{0, 0}, 1}, {{2 + off, 0}, 3});
    REQUIRE(around.size() == 1);
    CHECK(distance(around[0], {-1, 0}) < 1e-9);
  }
}

TEST_CASE("circles apart, inside one another or with one centre do not meet") {
  CHECK(circle_circle({{0, 0}, 1}, {{3, 0}, 1}).empty());
  CHECK(circle_circle({{0, 0}, 5}, {{1, 0}, 1}).empty());
  CHECK(circle_circle({{0, 0}, 1}, {{0, 0}, 1}).empty());
}

TEST_CASE("points where random circles and lines meet lie on both") {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> unit(-2, 2);
  for (int i = 0; i < 500; ++i) {
    Circle const a{{unit(random), unit(random)}, 2.2 + unit(random)};
    Circle const b{{unit(random), unit(random)}, 2.2 + unit(random)};
    for (Vec2 const p : circle_circle(a, b)) {
      CHECK(std::abs(distance(p, a.centre) - a.radius) < 1e-8);
      CHECK(std::abs(distance(p, b.centre) - b.radius) < 1e-8);
    }
    Vec2 const from = b.centre, to = from + Vec2{unit(random), unit(random)};
    for (Vec2 const p : line_circle(from, to, a)) {
      CHECK(std::abs(distance(p, a.centre) - a.radius) < 1e-8);
      CHECK(std::abs(cross(normalized(to - from), p - from)) < 1e-10);
    }
  }
}
