#include "finish/contour.hpp"
#include "finish/offsets.hpp"
#include "finish/stack.hpp"
#include "finish/steady.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

/// What levels that are posted in chords tell of each other's digits.

using namespace restep;
using finish::Segment;
using geometry::Vec2;

namespace {

constexpr double digit = 0.001;

Vec2 written(Vec2 p) {
  return {std::round(p.x / digit) * digit, std::round(p.y / digit) * digit};
}

Vec2 on_circle(Vec2 centre, double radius, double angle) {
  return centre + radius * Vec2{std::cos(angle), std::sin(angle)};
}

finish::Contour through(std::vector<Vec2> const& points, double z) {
  finish::Contour contour;
  contour.closed = true;
  contour.z = z;
  for (std::size_t i = 0; i < points.size(); ++i)
    contour.segments.push_back({.from = written(points[i]), .to = written(points[(i + 1) % points.size()])});
  return contour;
}

/// Circles round the origin, each level 0.05 mm larger and in other chords.
finish::Stack circles() {
  finish::Stack stack;
  stack.by_element = false;
  for (int k = 0; k < 12; ++k) {
    int const chords = 90 + 7 * k;
    std::vector<Vec2> points;
    for (int i = 0; i < chords; ++i)
      points.push_back(on_circle({}, 8 + 0.05 * k, 0.1 * k + 2 * std::numbers::pi * i / chords));
    stack.levels.push_back({-0.1 * k, {through(points, -0.1 * k)}});
  }
  return stack;
}

/// How far the starts of the elements scatter about their mean distance from the origin, mm.
double scatter(std::vector<Segment> const& segments) {
  double mean = 0, square = 0;
  for (Segment const& s : segments)
    mean += length(s.from) / static_cast<double>(segments.size());
  for (Segment const& s : segments)
    square += std::pow(length(s.from) - mean, 2) / static_cast<double>(segments.size());
  return std::sqrt(square);
}

} // namespace

// Rounding scatters by a digit over the root of 12; the mean of five by as much over the root of five.
TEST_CASE("the levels beside a level halve what rounding scatters its chords by", "[finish]") {
  finish::Stack const stack = circles();
  auto const offsets = finish::measure_offsets(stack, digit);
  REQUIRE(offsets.has_value());
  double rounded = 0, steady = 0;
  for (std::size_t k = 0; k < stack.levels.size(); ++k) {
    finish::Contour const& own = stack.levels[k].contours.front();
    auto const moved = finish::steadied(own, offsets->steady[k].front());
    REQUIRE(moved.size() == own.segments.size());
    rounded += scatter(own.segments) / 12;
    steady += scatter(moved) / 12;
    for (std::size_t i = 0; i < moved.size(); ++i) {
      CHECK(distance(moved[i].from, own.segments[i].from) <= 0.7072 * digit);
      CHECK(moved[i].to == moved[(i + 1) % moved.size()].from);
    }
  }
  CHECK(rounded == Approx(digit / std::sqrt(12.0)).epsilon(0.1));
  CHECK(steady <= 1.2 * rounded / std::sqrt(5.0));
}

TEST_CASE("a place where one level stands apart is not drawn to its neighbours", "[finish]") {
  finish::Stack stack = circles();
  std::vector<Segment>& segments = stack.levels[5].contours.front().segments;
  Vec2 const out = segments[40].from + 4 * digit * normalized(segments[40].from);
  segments[40].from = segments[39].to = out;
  auto const offsets = finish::measure_offsets(stack, digit);
  REQUIRE(offsets.has_value());
  CHECK(offsets->steady[5].front()[40] == 0);
}

TEST_CASE("ends of lines and corners stay where they are", "[finish]") {
  finish::Stack stack;
  stack.by_element = false;
  for (int k = 0; k < 6; ++k) {
    // A square with two rounded corners and two sharp ones.
    double const side = 10.0003 + 0.0507 * k, round = 2.0001 + 0.0507 * k;
    int const chords = 20 + k;
    std::vector<Vec2> points{{-side, -side}, {side, -side}};
    for (int const corner : {0, 1})
      for (int i = 0; i <= chords; ++i)
        points.push_back(on_circle({(corner == 0 ? 1 : -1) * (side - round), side - round}, round,
                                   0.5 * std::numbers::pi * (corner + static_cast<double>(i) / chords)));
    stack.levels.push_back({-0.1 * k, {through(points, -0.1 * k)}});
  }
  auto const offsets = finish::measure_offsets(stack, digit);
  REQUIRE(offsets.has_value());
  for (std::size_t k = 0; k < stack.levels.size(); ++k) {
    auto const& left = offsets->steady[k].front();
    std::size_t const n = 20 + k;
    for (std::size_t const still : {std::size_t{0}, std::size_t{1}, std::size_t{2}, n + 2, n + 3, 2 * n + 3})
      CHECK(left[still] == 0);
    CHECK(std::any_of(left.begin(), left.end(), [](float l) { return l != 0; }));
  }
}
