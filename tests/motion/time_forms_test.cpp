#include "motion/kinematics.hpp"
#include "motion/time_model.hpp"
#include "seconds_of.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

/// The time model against forms that it does not use itself: the phase plane of a whole path, chords of a
/// circle, and what it leaves out, a limited jerk.

using namespace restep::motion;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using restep::motion::testing::seconds_of;

namespace {

using std::numbers::pi;
constexpr double acceleration = 50; // mm/s^2

Machine machine_with(double corner_tolerance) {
  Machine machine;
  machine.acceleration = {acceleration, acceleration, acceleration};
  machine.corner_tolerance = corner_tolerance;
  return machine;
}

Step line(Vec3 from, Vec3 to, double feed) {
  Motion motion;
  motion.path = PathKind::line;
  motion.from = from;
  motion.to = to;
  motion.feed = feed;
  Step step;
  step.event = motion;
  return step;
}

/// Rest to rest over d with limited jerk, formula (42) as it stands: v J >= a^2: Tj = a/J, Ta = Tj + v/a;
/// else Tj = sqrt(v/J), Ta = 2 Tj. d >= v Ta: T = d/v + Ta. Else d >= 2 a^3/J^2: Ta = Tj/2 + sqrt(Tj^2/4 +
/// d/a), T = 2 Ta, Tj = a/J; else T = 4 (d/2J)^(1/3).
double with_jerk(double d, double v, double a, double J) {
  double const Ta = v * J >= a * a ? a / J + v / a : 2 * std::sqrt(v / J);
  if (d >= v * Ta) return d / v + Ta;
  if (d >= 2 * a * a * a / (J * J)) return a / J + 2 * std::sqrt(a * a / (J * J) / 4 + d / a);
  return 4 * std::cbrt(d / (2 * J));
}

/// What a line gets when no axis may have more: the axis with the largest share sets it.
double acceleration_along(Vec3 e) {
  return acceleration / std::max({std::abs(e.x), std::abs(e.y), std::abs(e.z)});
}

/// The time along a path of lines by its phase plane: v^2 on a fine grid along the path, held under the feeds
/// and, at the corners, under a rho of the rounding arc of formula (44), with a slope of at most 2 a both
/// ways.
double by_phase_plane(std::vector<Vec3> const& points, std::vector<double> const& feeds, double delta) {
  constexpr int pieces = 400; // of each line
  std::vector<double> way{0}, square{0}, slope;
  for (std::size_t i = 1; i < points.size(); ++i) {
    double const length = restep::geometry::distance(points[i - 1], points[i]);
    double const v = feeds[i - 1] / 60;
    Vec3 const e = (points[i] - points[i - 1]) / length;
    square.back() = std::min(square.back(), v * v);
    for (int k = 1; k <= pieces; ++k) {
      way.push_back(way.back() + length / pieces);
      square.push_back(v * v);
      slope.push_back(2 * acceleration_along(e));
    }
    if (i + 1 == points.size()) break;
    double const next = restep::geometry::distance(points[i], points[i + 1]);
    Vec3 const e_next = (points[i + 1] - points[i]) / next;
    double const alpha = std::acos(std::clamp(dot(e, e_next), -1.0, 1.0));
    double const rho = std::min(delta * std::cos(alpha / 2) / (1 - std::cos(alpha / 2)),
                                std::min(length, next) / 2 / std::tan(alpha / 2));
    square.back() =
        std::min(square.back(), std::min(acceleration_along(e), acceleration_along(e_next)) * rho);
  }
  square.back() = 0;
  for (std::size_t i = 1; i < way.size(); ++i)
    square[i] = std::min(square[i], square[i - 1] + slope[i - 1] * (way[i] - way[i - 1]));
  for (std::size_t i = way.size(); i-- > 1;)
    square[i - 1] = std::min(square[i - 1], square[i] + slope[i - 1] * (way[i] - way[i - 1]));
  double seconds = 0;
  for (std::size_t i = 1; i < way.size(); ++i) // constant acceleration in between: the mean of two speeds
    seconds += 2 * (way[i] - way[i - 1]) / (std::sqrt(square[i]) + std::sqrt(square[i - 1]));
  return seconds;
}

} // namespace

// Between two points of the grid the true course may peak above both: half a percent. Formulas (41), (44).
TEST_CASE("the look-ahead finds the time of the whole path's phase plane", "[time][law]") {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> coordinate(-1, 1), scale(-1.5, 1), feed(100, 2500);
  for (int round = 0; round < 100; ++round) {
    std::vector<Vec3> points{{0, 0, 0}};
    std::vector<double> feeds;
    std::vector<Step> steps;
    for (int i = 0; i < 40; ++i) {
      double const size = std::pow(10, scale(random));
      points.push_back(points.back() +
                       size * Vec3{coordinate(random), coordinate(random), coordinate(random)});
      feeds.push_back(feed(random));
      steps.push_back(line(points[points.size() - 2], points.back(), feeds.back()));
    }
    INFO(round);
    CHECK_THAT(seconds_of(steps, machine_with(0.02)), WithinRel(by_phase_plane(points, feeds, 0.02), 0.005));
  }
}

// Case 65 of the surface-finish reference: radius 5, sagitta 0.005: chord 0.447102, turn 5.12512 degrees.
// Each corner allows sqrt(a rho), rho by formula (44).
TEST_CASE("a circle in chords is driven at the speed that its corners allow", "[time]") {
  double const radius = 5, sagitta = 0.005;
  double const turn = 2 * std::acos(1 - sagitta / radius), chord = 2 * radius * std::sin(turn / 2);
  CHECK_THAT(chord, WithinAbs(0.447102, 5e-7));
  CHECK_THAT(turn * 180 / pi, WithinAbs(5.12512, 5e-6));
  std::vector<Step> steps;
  int const count = 700;
  for (int i = 0; i < count; ++i)
    steps.push_back(line({radius * std::cos(i * turn), radius * std::sin(i * turn), 0},
                         {radius * std::cos((i + 1) * turn), radius * std::sin((i + 1) * turn), 0}, 60000));
  // The tangent length may be half a chord: the rounding arc is then nearly the circle itself.
  double const by_length = chord / 2 / std::tan(turn / 2);
  CHECK_THAT(by_length, WithinRel(radius, 0.002));
  double const v = std::sqrt(acceleration * by_length);
  double const level = count * chord / v;
  double const model = seconds_of(steps, machine_with(0.02));
  CHECK(model < level + 2 * v / acceleration);
  // Where it runs at 45 degrees two axes share the acceleration, and on half a chord it gains a chord.
  CHECK(model > count * chord / std::sqrt(std::sqrt(2.0) * acceleration * (by_length + chord)));
}

// The model knows no jerk. A control that limits it takes longer, by a/J for a move that reaches both its
// speed and its acceleration: with v 10 mm/s, a 50 mm/s^2, J 500 mm/s^3 and d 10 mm 1.3 s instead of 1.2 s.
// Cases 60 and 61 of the surface-finish reference.
TEST_CASE("limited jerk makes no move shorter than the model's, and a long one longer by a over J",
          "[time]") {
  CHECK_THAT(with_jerk(10, 10, 50, 500), WithinAbs(1.3, 1e-12));
  CHECK_THAT(with_jerk(2, 10, 50, 500), WithinAbs(0.512311, 5e-7));
  CHECK_THAT(with_jerk(1, 10, 50, 500), WithinAbs(0.4, 1e-12));
  CHECK_THAT(with_jerk(0.5, 10, 50, 500), WithinAbs(0.317480, 5e-7));
  CHECK_THAT(with_jerk(10, 4, 50, 500), WithinAbs(2.67889, 5e-6));
  for (double const d : {0.01, 0.3, 1.0, 4.0, 30.0})
    for (double const v : {2.0, 10.0, 40.0}) {
      double const model = seconds_of({line({0, 0, 0}, {d, 0, 0}, 60 * v)}, machine_with(0.02));
      INFO(d << ' ' << v);
      CHECK_THAT(with_jerk(d, v, acceleration, 1e9), WithinRel(model, 1e-4));
      CHECK(with_jerk(d, v, acceleration, 500) >= model);
      if (v * 500 >= acceleration * acceleration && d >= v * (acceleration / 500 + v / acceleration))
        CHECK_THAT(with_jerk(d, v, acceleration, 500) - model, WithinAbs(acceleration / 500, 1e-9));
    }
}
