#include "geometry/fit.hpp"

#include <catch2/catch.hpp>

#include <random>
#include <vector>

using namespace restep::geometry;
using Catch::Matchers::WithinAbs;

namespace {

/// Gander, Golub & Strebel, Least-squares fitting of circles and ellipses, BIT 34, 1994, 558-578.
std::vector<Vec2> const six_points = {{1, 7}, {2, 6}, {5, 8}, {7, 7}, {9, 5}, {3, 7}};

std::vector<Vec2> arc(Vec2 centre, double radius, double from, double to, int count) {
  std::vector<Vec2> points;
  for (int i = 0; i < count; ++i) {
    double const a = radians(from + (to - from) * i / (count - 1));
    points.push_back(centre + radius * Vec2{std::cos(a), std::sin(a)});
  }
  return points;
}

void check(std::optional<CircleFit> const& fit, double x, double y, double r, double tolerance) {
  REQUIRE(fit);
  CHECK_THAT(fit->circle.centre.x, WithinAbs(x, tolerance));
  CHECK_THAT(fit->circle.centre.y, WithinAbs(y, tolerance));
  CHECK_THAT(fit->circle.radius, WithinAbs(r, tolerance));
}

} // namespace

TEST_CASE("the geometric circle of six points is the published one") {
  // Case 55; more digits recomputed two ways, five of them as printed in the paper (from memory).
  auto const fit = fit_circle(six_points);
  check(fit, 4.73978241091, 2.98353269929, 4.71422603779, 1e-8);
  CHECK_THAT(fit->rms * fit->rms * 6, WithinAbs(1.22759907818, 5e-12));
}

TEST_CASE("the algebraic circles of six points are those of their eigenproblems") {
  // Case 56: eigenproblem and minimiser.
  check(fit_circle_kasa(six_points), 4.74233128834, 3.83512269939, 4.10876152235, 5e-11);
  check(fit_circle_pratt(six_points), 4.61548151685, 2.80735439719, 4.91130159689, 5e-11);
  check(fit_circle_taubin(six_points), 4.61393269388, 2.79520934693, 4.87921284562, 5e-11);
}

TEST_CASE("points of an exact arc give back their circle") {
  for (double const turn : {2.0, 15.0, 90.0, 350.0}) {
    auto const points = arc({-120, 45}, 1.5, 20, 20 + turn, 25);
    double const tolerance = 1e-9 + 1e-10 / (radians(turn) * radians(turn));
    check(fit_circle_kasa(points), -120, 45, 1.5, tolerance);
    check(fit_circle_pratt(points), -120, 45, 1.5, tolerance);
    check(fit_circle_taubin(points), -120, 45, 1.5, tolerance);
    check(fit_circle(points), -120, 45, 1.5, tolerance);
  }
}

TEST_CASE("three points are fitted without a rest") {
  std::vector<Vec2> const points = {{0, 0}, {3, 1}, {4, 5}};
  auto const circle = circle_through(points[0], points[1], points[2]);
  REQUIRE(circle);
  check(fit_circle(points), circle->centre.x, circle->centre.y, circle->radius, 1e-9);
  CHECK(fit_circle(points)->largest < 1e-9);
}

TEST_CASE("a fit moves, turns and grows with its points") {
  std::mt19937 random(7);
  std::normal_distribution<double> noise(0, 0.01);
  auto points = arc({0, 0}, 2, 0, 70, 30);
  for (Vec2& p : points)
    p = p + Vec2{noise(random), noise(random)};
  auto moved = points;
  for (Vec2& p : moved)
    p = Vec2{50, -80} + 3 * left_normal(p);
  auto const a = fit_circle(points), b = fit_circle(moved);
  REQUIRE(a);
  Vec2 const centre = Vec2{50, -80} + 3 * left_normal(a->circle.centre);
  check(b, centre.x, centre.y, 3 * a->circle.radius, 1e-7);
  CHECK(b->rms == Approx(3 * a->rms).epsilon(1e-9));
}

TEST_CASE("no other circle nearby is closer to the points than the geometric one") {
  auto const fit = fit_circle(six_points);
  REQUIRE(fit);
  auto const cost = [](Circle const& c) {
    double sum = 0;
    for (Vec2 const p : six_points)
      sum += std::pow(distance(p, c.centre) - c.radius, 2);
    return sum;
  };
  double const least = cost(fit->circle);
  for (double const e : {-1e-4, 1e-4}) {
    CHECK(cost({fit->circle.centre + Vec2{e, 0}, fit->circle.radius}) > least);
    CHECK(cost({fit->circle.centre + Vec2{0, e}, fit->circle.radius}) > least);
    CHECK(cost({fit->circle.centre, fit->circle.radius + e}) > least);
  }
}

TEST_CASE("points on a line have no circle") {
  std::vector<Vec2> const points = {{0, 0}, {1, 1}, {2, 2}, {5, 5}};
  CHECK_FALSE(fit_circle_kasa(points));
  CHECK_FALSE(fit_circle_pratt(points));
  CHECK_FALSE(fit_circle_taubin(points));
  CHECK_FALSE(fit_circle(points));
  CHECK_FALSE(circle_through({0, 0}, {1, 1}, {3, 3}));
  CHECK_FALSE(fit_circle(std::vector<Vec2>{{0, 0}, {1, 0}}));
  CHECK_FALSE(fit_circle(std::vector<Vec2>{{1, 1}, {1, 1}, {1, 1}}));
}

TEST_CASE("Pearson's line has the slope that he printed") {
  // Case 58: Pearson, Phil. Mag. 2, 1901, prints y = 5.784 - 0.54556 x through (3.82, 3.70).
  double const x[] = {0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4};
  double const y[] = {5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5};
  std::vector<Vec2> points;
  for (int i = 0; i < 10; ++i)
    points.push_back({x[i], y[i]});
  auto const fit = fit_line(points);
  REQUIRE(fit);
  double const slope = fit->direction.y / fit->direction.x;
  CHECK_THAT(fit->through.x, WithinAbs(3.82, 5e-3));
  CHECK_THAT(fit->through.y, WithinAbs(3.70, 5e-3));
  CHECK_THAT(slope, WithinAbs(-0.545561197521, 5e-12));
  CHECK_THAT(fit->through.y - slope * fit->through.x, WithinAbs(5.78404377453, 5e-11));
  CHECK_THAT(fit->rms, WithinAbs(0.248711230031, 5e-12));
}

TEST_CASE("a line fit treats x and y alike") {
  std::vector<Vec2> const points = {{0, 0}, {1, 0.4}, {2, 0.7}, {3, 1.8}}; // then x and y exchanged
  std::vector<Vec2> exchanged;
  for (Vec2 const p : points)
    exchanged.push_back({p.y, p.x});
  auto const a = fit_line(points), b = fit_line(exchanged);
  CHECK(a->direction.x == Approx(b->direction.y));
  CHECK(a->direction.y == Approx(b->direction.x));
  CHECK(a->rms == Approx(b->rms));
}

TEST_CASE("points along an axis lie on it to the last digit") {
  CHECK(fit_line(std::vector<Vec2>{{2, 0}, {2, -1}, {2, -3}})->direction == Vec2{0, 1});
  CHECK(fit_line(std::vector<Vec2>{{2, 5}, {3, 5}, {9, 5}})->direction == Vec2{1, 0});
  CHECK(fit_line(std::vector<Vec2>{{2, 5}, {3, 5}, {9, 5}})->largest == 0);
  CHECK_FALSE(fit_line(std::vector<Vec2>{{2, 5}, {2, 5}}));
  CHECK_FALSE(fit_line(std::vector<Vec2>{{1, 0}, {-1, 0}, {0, 1}, {0, -1}}));
}
