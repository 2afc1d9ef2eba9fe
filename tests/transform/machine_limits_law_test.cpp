#include "limits_inspector.hpp"
#include "random_job.hpp"
#include "steps.hpp"
#include "tests/draw.hpp"
#include "transform/checks.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <map>
#include <rapidcheck.h>
#include <string>
#include <utility>
#include <vector>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;

namespace {

std::vector<Step> limited(std::vector<Step> const& steps, Context& context) {
  std::vector<Step> out = steps;
  for (Stage const& stage : stages())
    if (stage.name != "restep" && !stage.on_request) out = run(stage.make, out, context);
  return out;
}

} // namespace

TEST_CASE("an inspector of its own finds nothing in a program that was brought inside a machine's limits",
          "[limits][law]") {
  CHECK(rc::check([] {
    Bench bench;
    random_machine(bench);
    random_setting(bench);
    PartSetting const& setting = bench.context.setting;
    auto const in = random_job().steps;
    for (Step const& step : in)
      bench.survey.add(step);
    auto const out = limited(in, bench.context);
    std::string const complaint =
        Inspector(bench.machine, lowest_safe_rapid(in, bench.machine, setting.stock), &bench.tools, &setting)
            .complaint(out);
    RC_LOG(words(in) + "\n  " + words(out) + "\n  " + complaint);
    RC_ASSERT(complaint.empty());
    RC_ASSERT_FALSE(bench.findings.has_errors());
  }));
}

namespace {

/// How far a program reaches along an axis, from points on all of its ways; cycles with their bottom and top.
std::pair<double, double> reach(std::vector<Step> const& steps, int axis) {
  double low = 1e9, high = -1e9;
  auto const take = [&](double at) {
    if (at < low) low = at;
    if (at > high) high = at;
  };
  for (Step const& step : steps) {
    if (auto const* hole = std::get_if<motion::Cycle>(&step.event)) {
      for (double const at : {hole->from[axis], hole->hole[axis]})
        take(at);
      if (axis == 2) take(hole->retract);
    } else if (auto const* move = motion_of(step)) {
      take(move->from[axis]); // what lies between is unknown where an end is
      take(move->to[axis]);
      constexpr int places = 400;
      for (int i = 0; i <= places; ++i)
        take(Inspector::at(*move, static_cast<double>(i) / places)[axis]);
    }
  }
  return {low, high};
}

} // namespace

// A chord of 350 / 400 degrees stays 30 (1 - cos 0.44 degrees) < 0.001 mm inside the largest arc.
TEST_CASE("a program is told to go beyond the travel exactly when a point of its ways does",
          "[limits][law]") {
  CHECK(rc::check([] {
    Bench bench;
    random_machine(bench);
    auto const in = random_job().steps;
    for (Step const& step : in)
      bench.survey.add(step);
    bool const placed = *rc::gen::arbitrary<bool>();
    Vec3 const origin{restep::property::draw(0, 100) + 0.0, restep::property::draw(0, 100) + 0.0, -60};
    if (placed) {
      bench.machine.travel_min = Vec3{0, 0, -100};
      bench.machine.travel_max = Vec3{150, 120, 0};
      bench.context.setting.offsets[1] = origin;
      for (int h = 1; h <= 3; ++h)
        bench.context.setting.lengths[h] = 30;
    } else {
      bench.machine.travel = {restep::property::draw(50, 160) + 0.0, restep::property::draw(50, 160) + 0.0,
                              30};
    }
    // Under G43 the gauge line stands higher than the tip; programs with lengths begin by rapids without any.
    bool const lengths = bench.survey.length_offset;
    double beyond = -1e9;
    for (int axis = 0; axis < (lengths ? 2 : 3); ++axis) {
      auto const [low, high] = reach(in, axis);
      beyond = placed ? std::max({beyond, (*bench.machine.travel_min)[axis] - origin[axis] - low,
                                  origin[axis] + high - (*bench.machine.travel_max)[axis]})
                      : std::max(beyond, high - low - bench.machine.travel[axis]);
    }
    if (lengths) bench.machine.travel.z = 0; // judged elsewhere
    if (lengths && placed) bench.machine.travel_min->z = -1e6, bench.machine.travel_max->z = 1e6;
    check_limits(bench.context);
    RC_PRE(std::abs(beyond) > 0.003);
    RC_LOG(words(in) + "\n  " + std::to_string(beyond));
    RC_ASSERT(bench.found("travel-exceeded") == (beyond > 0));
  }));
}

TEST_CASE("bringing a program inside a machine's limits twice changes nothing more", "[limits][law]") {
  CHECK(rc::check([] {
    Bench bench;
    random_machine(bench);
    random_setting(bench);
    // Asked twice for a tool the operator is asked twice, and a number that was mapped may be mapped again.
    bench.machine.tool_change = motion::ToolChangePolicy::automatic;
    bench.machine.touch_off = motion::TouchOffPolicy::by_operator;
    bench.context.abilities.touch_off_by_plate = false;
    bench.context.abilities.length_offset = true;
    bench.context.setting.tool_numbers.clear();
    auto const in = random_job().steps;
    for (Step const& step : in)
      bench.survey.add(step);
    auto const once = limited(in, bench.context);
    auto const twice = limited(once, bench.context);
    RC_LOG(words(once) + "\n  " + words(twice));
    RC_ASSERT(same_stream(once, twice));
  }));
}

TEST_CASE("the inspector does find what is wrong", "[limits]") {
  motion::Machine machine;
  machine.max_feed = {900, 900, 500};
  machine.spindle_max = 6000;
  auto const complaint = [&](Program const& rest) {
    Program program;
    program(motion::SpindleTurn{Rotation::clockwise});
    program.steps.insert(program.steps.end(), rest.steps.begin(), rest.steps.end());
    return Inspector(machine, 1).complaint(program.steps);
  };
  Program fast, low, sound, speed;
  fast.at = low.at = sound.at = {0, 0, -1};
  CHECK(complaint(fast.feed(9, 0, -1, 950)) == "an axis that feeds too fast at step 1");
  CHECK(complaint(low.rapid(9, 0, -1)) == "a sideways rapid that is too low at step 1");
  CHECK(complaint(speed(motion::SpindleSpeed{7000})) == "spindle too fast at step 1");
  CHECK(complaint(sound.feed(9, 0, -1, 900)).empty());

  // The other ways to say a feed: 0.2 mm at 5000 rpm are 1000 mm/min, and so are 100 per minute for 10 mm.
  Program turning, timed, drilled, upright;
  turning.at = timed.at = upright.at = {0, 0, -1};
  drilled.at = {0, 0, 20};
  turning(motion::SpindleSpeed{5000}).feed(9, 0, -1, 0.2);
  motion_of(turning.steps.back())->feed_mode = motion::FeedMode::per_revolution;
  CHECK(complaint(turning) == "an axis that feeds too fast at step 2");
  timed.feed(10, 0, -1, 100);
  motion_of(timed.steps.back())->feed_mode = motion::FeedMode::inverse_time;
  CHECK(complaint(timed) == "an axis that feeds too fast at step 1");
  motion::Cycle hole;
  hole.from = drilled.at;
  hole.hole = {0, 0, -5};
  hole.retract = 15;
  hole.feed = 600;
  CHECK(complaint(drilled(hole)) == "an axis that feeds too fast at step 1");
  // Half way round a circle of 5 mm in ZX, Z carries the whole feed.
  upright.arc(PathKind::arc_ccw, motion::Plane::zx, {0, 0, -11}, {0, 0, -6}, 600);
  CHECK(complaint(upright) == "an axis that feeds too fast at step 1");
  machine.max_feed = {};
  machine.acceleration = {10, 10, 10}; // sqrt(10 * 5) = 7.07 mm/s
  CHECK(complaint(upright) == "an arc that is too fast at step 1");
  machine.max_feed = {900, 900, 500};

  // Stock that a rapid goes down into, a tool that nobody measured, another tool's number.
  PartSetting setting;
  setting.stock = Block{{-50, -50, -20}, {50, 50, 2}};
  setting.tool_numbers = {{1, 2}};
  cutter::ToolTable tools;
  tools.add(cutter::parse_tool("flat 6").value());
  cutter::Tool numbered = tools.all().front();
  numbered.number = 1;
  tools.add(numbered);
  auto const in_setting = [&](Program const& program) {
    return Inspector(machine, 3, &tools, &setting).complaint(program.steps);
  };
  Program other, into, beside, unmeasured;
  CHECK(in_setting(other(motion::ToolChange{1})) == "another tool at step 0");
  into.at = {0, 0, 20};
  CHECK(in_setting(into(motion::ToolChange{2}).rapid_z(1)) == "a rapid into the stock at step 1");
  beside.at = {70, 0, 20};
  CHECK(in_setting(beside(motion::ToolChange{2}).rapid_z(1)).empty());
  machine.touch_off = motion::TouchOffPolicy::plate;
  unmeasured.at = {0, 0, 1};
  unmeasured(motion::Comment{"insert T1", true})(motion::Stop{motion::StopKind::program});
  unmeasured(motion::SpindleTurn{Rotation::clockwise}).feed(9, 0, nowhere, 100);
  CHECK(in_setting(unmeasured) == "a cut with a tool that nobody measured at step 3");
}
