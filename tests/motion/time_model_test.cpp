#include "motion/kinematics.hpp"
#include "motion/time_model.hpp"
#include "seconds_of.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>
#include <random>
#include <vector>

using namespace restep::motion;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using restep::motion::testing::seconds_of;

namespace {

using std::numbers::pi;

Machine bench_mill() {
  Machine machine;
  machine.max_rapid = {3000, 3000, 2000};
  machine.acceleration = {50, 50, 50};
  return machine;
}

Step line_step(Vec3 from, Vec3 to, double feed) {
  Motion motion;
  motion.path = PathKind::line;
  motion.from = from;
  motion.to = to;
  motion.feed = feed;
  Step step;
  step.event = motion;
  return step;
}

Step rapid(Vec3 from, Vec3 to) {
  Step step = line_step(from, to, 0);
  motion_of(step)->path = PathKind::rapid;
  return step;
}

/// A path of straight moves in random directions, long and short mixed, some of them rapids.
std::vector<Step> random_path(std::mt19937& random, int count) {
  std::uniform_real_distribution<double> coordinate(-1, 1), scale(-3, 1), feed(50, 2500);
  std::vector<Step> steps;
  Vec3 at{0, 0, 0};
  for (int i = 0; i < count; ++i) {
    double const size = std::pow(10, scale(random));
    Vec3 const to = at + size * Vec3{coordinate(random), coordinate(random), coordinate(random)};
    steps.push_back(i % 7 == 3 ? rapid(at, to) : line_step(at, to, feed(random)));
    at = to;
  }
  return steps;
}

} // namespace

// Cases 59, 62 and 63: recomputed two ways (closed form and numerical integration) in the project's
// reference.

TEST_CASE("a move from rest to rest takes its length over its speed and one ramp", "[time]") {
  CHECK_THAT(rest_to_rest_seconds(10, 10, 50), WithinAbs(1.2, 0.05));
  CHECK_THAT(rest_to_rest_seconds(10, 10, 50), WithinRel(10.0 / 10 + 10.0 / 50, 1e-12));
}

TEST_CASE("a move too short to reach its speed takes twice the root of length over acceleration", "[time]") {
  CHECK_THAT(rest_to_rest_seconds(1, 10, 50), WithinAbs(0.282843, 0.0000005));
}

TEST_CASE("a segment entered and left in motion takes the time its trapezoid needs", "[time]") {
  CHECK_THAT(seconds_over(0.5, 2, 1, 10, 50), WithinAbs(0.149762, 0.0000005));
  CHECK_THAT(seconds_over(5, 2, 1, 10, 50), WithinAbs(0.645, 0.0005));
}

TEST_CASE("a corner may be passed at the speed of the arc that rounds it", "[time]") {
  auto const speed = [](double degrees) {
    return std::sqrt(corner_speed_squared(std::sin(degrees * pi / 360), 0.01, 1000, 50));
  };
  CHECK_THAT(speed(90), WithinAbs(1.09868, 0.000005));
  CHECK_THAT(speed(30), WithinAbs(3.76482, 0.000005));
}

TEST_CASE("the arc that rounds a corner fits into half of the shorter neighbour", "[time]") {
  double const s = std::sin(pi / 4);
  CHECK(corner_speed_squared(s, 10, 0.5, 50) == Approx(50 * 0.25)); // 90 degrees: the tangent length is rho
}

TEST_CASE("turning back stops the machine and going straight on does not limit it", "[time]") {
  CHECK(corner_speed_squared(1, 0.01, 10, 50) == 0);
  CHECK(std::isinf(corner_speed_squared(0, 0.01, 10, 50)));
}

TEST_CASE("a single feed move takes the time of the formula", "[time]") {
  CHECK_THAT(seconds_of({line_step({0, 0, 0}, {10, 0, 0}, 600)}, bench_mill()), WithinRel(1.2, 1e-12));
}

TEST_CASE("without limits a feed move takes its length over its feed and a rapid no time", "[time]") {
  Machine const unlimited;
  CHECK_THAT(seconds_of({line_step({0, 0, 0}, {3, 4, 0}, 300)}, unlimited), WithinRel(1.0, 1e-12));
  CHECK(seconds_of({rapid({0, 0, 0}, {3, 4, 0})}, unlimited) == 0);
}

TEST_CASE("a rapid runs as fast as its slowest axis lets it", "[time]") {
  Machine machine;
  machine.max_rapid = {3000, 3000, 600};
  CHECK_THAT(seconds_of({rapid({0, 0, 0}, {10, 0, 10})}, machine), WithinRel(1.0, 1e-12));
}

TEST_CASE("an inverse-time move takes the time it is told", "[time]") {
  Step step = line_step({0, 0, 0}, {37, 0, 0}, 2);
  motion_of(step)->feed_mode = FeedMode::inverse_time;
  CHECK_THAT(seconds_of({step}, Machine{}), WithinRel(30.0, 1e-12));
}

TEST_CASE("a feed per revolution counts with the spindle's speed", "[time]") {
  Step speed, move = line_step({0, 0, 0}, {10, 0, 0}, 0.1);
  speed.event = SpindleSpeed{6000};
  motion_of(move)->feed_mode = FeedMode::per_revolution;
  CHECK_THAT(seconds_of({speed, move}, Machine{}), WithinRel(1.0, 1e-12));
}

TEST_CASE("a full circle is driven no faster than its radius and the acceleration allow", "[time]") {
  Step step = line_step({5, 0, 0}, {5, 0, 0}, 60000);
  motion_of(step)->path = PathKind::arc_ccw;
  motion_of(step)->centre = {0, 0, 0};
  double const top = std::sqrt(50.0 * 5), around = 2 * pi * 5;
  CHECK_THAT(seconds_of({step}, bench_mill()), WithinRel(around / top + top / 50, 1e-9));
}

TEST_CASE("a canned cycle takes as long as the moves it stands for", "[time]") {
  Machine machine = bench_mill();
  Step hole;
  Cycle cycle;
  cycle.code = 820;
  cycle.from = {0, 0, 10};
  cycle.hole = {0, 0, -10};
  cycle.retract = 2;
  cycle.clear = 10;
  cycle.dwell = 0.5;
  cycle.feed = 120;
  hole.event = cycle;
  double const v = 2000 / 60.0; // the Z rapid
  // 10 -> 2 at rapid and 2 -> -10 at feed go the same way: the rapid need not stop, only slow to the feed
  double const down = seconds_over(8, 0, 2, v, 50) + seconds_over(12, 2, 0, 2, 50);
  double const up = rest_to_rest_seconds(20, v, 50);
  CHECK_THAT(seconds_of({hole}, machine), WithinRel(down + 0.5 + up, 1e-9));
}

TEST_CASE("dwells, spindle starts and tool changes count and a stop for the operator does not", "[time]") {
  Machine machine;
  machine.spindle_start_seconds = 3;
  machine.tool_change_seconds = 7;
  std::vector<Step> steps(6);
  steps[0].event = ToolChange{2};
  steps[1].event = SpindleTurn{Rotation::clockwise};
  steps[2].event = SpindleTurn{Rotation::clockwise};
  steps[3].event = Dwell{0.25};
  steps[4].event = ToolChange{2};
  steps[5].event = Stop{StopKind::program};
  CHECK_THAT(seconds_of(steps, machine), WithinRel(10.25, 1e-12));
}

TEST_CASE("a move from an unknown place counts only what is known of it", "[time]") {
  CHECK_THAT(seconds_of({line_step({unknown, 0, unknown}, {50, 10, 5}, 600)}, Machine{}),
             WithinRel(1.0, 1e-12));
}

TEST_CASE("splitting a straight move in two changes nothing", "[time]") {
  Vec3 const a{0, 0, 0}, b{12, -5, 3};
  for (double share : {0.001, 0.3, 0.5, 0.97}) {
    Vec3 const between = a + share * (b - a);
    CHECK_THAT(seconds_of({line_step(a, between, 900), line_step(between, b, 900)}, bench_mill()),
               WithinRel(seconds_of({line_step(a, b, 900)}, bench_mill()), 1e-9));
  }
}

TEST_CASE("splitting every move of a path with corners changes nothing", "[time]") {
  std::mt19937 random(1);
  std::vector<Step> const path = random_path(random, 60);
  std::vector<Step> split;
  for (Step const& step : path) {
    Motion const whole = *motion_of(step);
    Step first = step, second = step;
    motion_of(first)->to = motion_of(second)->from = whole.from + 0.4 * (whole.to - whole.from);
    split.insert(split.end(), {first, second});
  }
  CHECK_THAT(seconds_of(split, bench_mill()), WithinRel(seconds_of(path, bench_mill()), 1e-9));
}

TEST_CASE("a chain of collinear segments takes as long as one, also across the window", "[time]") {
  std::vector<Step> chain;
  for (int i = 0; i < 2000; ++i)
    chain.push_back(line_step({i * 0.05, 0, 0}, {(i + 1) * 0.05, 0, 0}, 1800));
  CHECK_THAT(seconds_of(chain, bench_mill()), WithinRel(rest_to_rest_seconds(100, 30, 50), 1e-9));
}

TEST_CASE("a slower machine is never faster", "[time]") {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> share(0.2, 1);
  for (int round = 0; round < 200; ++round) {
    std::vector<Step> const path = random_path(random, 400);
    Machine const fast = bench_mill();
    Machine slow = fast;
    for (int axis = 0; axis < 3; ++axis) {
      slow.max_rapid[axis] *= share(random);
      slow.acceleration[axis] *= share(random);
    }
    slow.corner_tolerance *= share(random);
    REQUIRE(seconds_of(path, slow) >= seconds_of(path, fast) * (1 - 1e-12));
  }
}

TEST_CASE("asking for the time in between changes nothing", "[time]") {
  std::mt19937 random(3);
  std::vector<Step> const path = random_path(random, 700);
  TimeModel asked(bench_mill());
  double last = 0;
  for (Step const& step : path) {
    asked.add(step);
    last = asked.seconds();
  }
  CHECK(last == seconds_of(path, bench_mill()));
}

TEST_CASE("an exact stop at every corner takes longer than going round it", "[time]") {
  std::mt19937 random(4);
  std::vector<Step> path = random_path(random, 50);
  double const continuous = seconds_of(path, bench_mill());
  Step mode;
  mode.event = PathControl{PathMode::exact_stop, 0};
  path.insert(path.begin(), mode);
  CHECK(seconds_of(path, bench_mill()) > continuous);
}

TEST_CASE("a control that takes few blocks in a second slows short moves down", "[time]") {
  Machine machine = bench_mill();
  machine.blocks_per_second = 100;
  std::vector<Step> chain;
  for (int i = 0; i < 1000; ++i)
    chain.push_back(line_step({i * 0.05, 0, 0}, {(i + 1) * 0.05, 0, 0}, 1800));
  CHECK(seconds_of(chain, machine) >= 1000 / 100.0);
}
