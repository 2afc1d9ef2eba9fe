#include "geometry/arc_tube.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <random>
#include <vector>

using namespace restep::geometry;

namespace {

std::vector<Vec2> on_circle(double radius, double turn, int chords, double noise, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> off(-noise, noise);
  std::vector<Vec2> points;
  for (int i = 0; i <= chords; ++i) {
    double const angle = turn * i / chords, r = radius + off(random);
    points.push_back({3 + r * std::cos(angle), -2 + r * std::sin(angle)});
  }
  return points;
}

/// Distance of the furthest point or chord middle, straight from the definition.
double furthest(std::vector<Vec2> const& points, Arc2 const& arc) {
  double worst = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    worst = std::max(worst, std::abs(distance(points[i], arc.centre) - arc.radius()));
    if (i > 0)
      worst = std::max(worst, std::abs(distance((points[i] + points[i - 1]) / 2, arc.centre) - arc.radius()));
  }
  return worst;
}

} // namespace

TEST_CASE("an arc is found exactly where some centre on the bisector serves", "[arc-tube]") {
  // The definition, tried at many places of the bisector, says whether there is one.
  std::mt19937 random(1);
  std::uniform_real_distribution<double> share(0.3, 1.4);
  int found = 0, none = 0;
  for (unsigned seed = 0; seed < 300; ++seed) {
    double const radius = 5, turn = (seed % 2 == 0 ? 1 : -1) * (0.2 + seed % 7 * 0.35), tolerance = 0.01;
    auto const points = on_circle(radius, turn, 12, tolerance * share(random), seed);
    Vec2 const middle = (points.front() + points.back()) / 2;
    Vec2 const normal = left_normal(normalized(points.back() - points.front())) * (turn > 0 ? 1.0 : -1.0);
    double const half = distance(points.front(), points.back()) / 2;
    double best = 1e9;
    for (double t = 0.09 * half; t < 60; t += 0.0005)
      best = std::min(best, furthest(points, {points.front(), points.back(), middle + t * normal, turn > 0}));
    ArcLimits const limits{tolerance, 0.02, 50};
    auto const arc = arc_within(points, limits);
    INFO(seed << " best " << best);
    if (best < tolerance - 1e-4) {
      REQUIRE(arc);
      CHECK(arc->ccw == (turn > 0));
      CHECK(furthest(points, *arc) <= tolerance + 1e-9);
      CHECK(furthest(points, *nearest_arc(points, limits)) < best + tolerance * 0.01);
      ++found;
    } else if (best > tolerance + 1e-4) {
      CHECK_FALSE(arc);
      ++none;
    }
  }
  CHECK(found > 50);
  CHECK(none > 50);
}

TEST_CASE("radii beyond the limits are not taken", "[arc-tube]") {
  auto const points = on_circle(5, 1.5, 40, 0, 0);
  CHECK(arc_within(points, {0.01, 0.02, 6}));
  CHECK_FALSE(arc_within(points, {0.01, 0.02, 4.9}));
  CHECK_FALSE(arc_within(points, {0.01, 5.2, 50}));
}

TEST_CASE("no arc of less than half a turn goes round more than half a circle", "[arc-tube]") {
  CHECK(arc_within(on_circle(5, 2.8, 60, 0, 0), {0.02, 0.02, 50}));
  CHECK_FALSE(arc_within(on_circle(5, 3.5, 60, 0, 0), {0.02, 0.02, 50}));
}
