#include "proof/deviation.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>
#include <vector>

using namespace restep;
using motion::Motion;
using motion::Vec3;

namespace {

std::vector<Motion> lines(std::vector<Vec3> const& points) {
  std::vector<Motion> chain;
  for (std::size_t i = 1; i < points.size(); ++i) {
    Motion m;
    m.path = motion::PathKind::line;
    m.from = points[i - 1];
    m.to = points[i];
    chain.push_back(m);
  }
  return chain;
}

Motion between(Vec3 from, Vec3 to) {
  return lines({from, to}).front();
}

Motion arc(Vec3 from, Vec3 to, Vec3 centre) {
  Motion m = between(from, to);
  m.path = motion::PathKind::arc_ccw;
  m.centre = centre;
  return m;
}

} // namespace

// Sagitta of a chord: s = R (1 - cos(a / 2)).
TEST_CASE("chords of a circle are off by their sagitta, in a part of it and all round", "[deviation]") {
  for (int const chords : {3, 12, 90}) {
    for (double const turn : {1.0, 3.0, 2 * std::numbers::pi}) {
      std::vector<Vec3> points;
      for (int i = 0; i <= chords; ++i)
        points.push_back({10 * std::cos(i * turn / chords), 10 * std::sin(i * turn / chords), 0});
      if (turn > 6) points.back() = points.front();
      double const sagitta = 10 * (1 - std::cos(turn / chords / 2));
      CHECK(proof::deviation(lines(points), arc(points.front(), points.back(), {0, 0, 0})) ==
            Approx(sagitta).epsilon(1e-6));
    }
  }
}

TEST_CASE("what lies off a line by so much is so much off", "[deviation]") {
  CHECK(proof::deviation(lines({{0, 0, 0}, {4, 0.003, 0}, {10, 0, 0}}), between({0, 0, 0}, {10, 0, 0})) ==
        Approx(0.003).epsilon(1e-5));
  CHECK(proof::deviation(lines({{0, 0, 0}, {5, 0.3, 0.4}, {10, 0, 0}}), between({0, 0, 0}, {10, 0, 0})) ==
        Approx(0.5).epsilon(1e-5));
}

TEST_CASE("a helix that rises otherwise than its chords is off by the difference", "[deviation]") {
  std::vector<Vec3> points;
  for (int i = 0; i <= 90; ++i)
    points.push_back({10 * std::cos(i / 90.0), 10 * std::sin(i / 90.0), i == 45 ? 0.52 : i / 90.0});
  CHECK(proof::deviation(lines(points), arc(points.front(), points.back(), {0, 0, 0})) ==
        Approx(0.02).epsilon(0.01));
}

TEST_CASE("a way that turns back or ends elsewhere is no part of the other", "[deviation]") {
  double const infinite = std::numeric_limits<double>::infinity();
  Motion const line = between({0, 0, 0}, {10, 0, 0});
  CHECK(proof::deviation(lines({{0, 0, 0}, {6, 0, 0}, {5, 0, 0}, {10, 0, 0}}), line) == infinite);
  CHECK(proof::deviation(lines({{0, 0, 0}, {9, 0, 0}}), line) == infinite);
  CHECK(proof::deviation({}, line) == infinite);
}
