#include "steps.hpp"
#include "tests/draw.hpp"
#include "transform/clamp_feeds.hpp"
#include "transform/clamp_spindle.hpp"

#include <catch2/catch.hpp>

#include <rapidcheck.h>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using Catch::Matchers::WithinAbs;

namespace {

Program finishing_cut(double rpm, double feed) {
  Program program;
  program.at = {0, 0, 0};
  program.block({motion::SpindleSpeed{rpm}, motion::SpindleTurn{motion::Rotation::clockwise}});
  program.feed(40, 0, 0, feed);
  return program;
}

} // namespace

// vc 120 m/min, D 6, z 4, fz 0.03: n 6366.20, vf 763.944; n capped at 5000: vf 600. Case 48 of the project's
// reference (arithmetic).
TEST_CASE("a clamped spindle keeps the feed per tooth", "[clamp-spindle]") {
  Bench bench;
  bench.machine.spindle_max = 5000;
  auto const out = run(make_clamp_spindle, finishing_cut(6366.20, 763.944).steps, bench.context);
  CHECK(std::get<motion::SpindleSpeed>(out[0].event).rpm == 5000);
  CHECK_THAT(motion_of(out[2])->feed, WithinAbs(600, 0.001));
  CHECK(out[0].touched);
  CHECK(out[2].other_feed);
  REQUIRE(bench.edits.all().size() == 2);
  CHECK(bench.edits.all()[1].why ==
        "F763.944 mm/min -> F600 mm/min: same chip load at S5000 rpm as at S6366.2 rpm");
}

TEST_CASE("a speed inside the range and its feeds stay as they are", "[clamp-spindle]") {
  Bench bench;
  bench.machine.spindle_max = 8000;
  auto const steps = finishing_cut(8000, 763.944).steps;
  CHECK(same_stream(run(make_clamp_spindle, steps, bench.context), steps));
  CHECK(bench.edits.made() == 0);
}

TEST_CASE("cuts that go on with one feed are one edit, and a feed that comes back is one more",
          "[clamp-spindle]") {
  Bench bench;
  bench.machine.spindle_max = 5000;
  Program program = finishing_cut(10000, 1000);
  program.feed(40, 20, 0, 1000).feed(40, 20, -1, 200).feed(0, 20, -1, 1000).feed(0, 0, -1, 1000);
  auto const out = run(make_clamp_spindle, program.steps, bench.context);
  CHECK(motion_of(out[3])->feed == 500);
  CHECK(motion_of(out.back())->feed == 500);
  CHECK(out.back().other_feed);
  REQUIRE(bench.edits.made() == 4);
  CHECK(bench.edits.all()[2].why ==
        "F200 mm/min -> F100 mm/min: same chip load at S5000 rpm as at S10000 rpm");
}

TEST_CASE("feeds go back to their own value when the speed does", "[clamp-spindle]") {
  Bench bench;
  bench.machine.spindle_max = 5000;
  Program program = finishing_cut(10000, 1000);
  program(motion::SpindleSpeed{4000}).feed(0, 0, 0, 400);
  auto const out = run(make_clamp_spindle, program.steps, bench.context);
  CHECK(motion_of(out[2])->feed == 500);
  CHECK(motion_of(out[4])->feed == 400);
}

TEST_CASE("a feed per revolution keeps the chip load by itself", "[clamp-spindle]") {
  Bench bench;
  bench.machine.spindle_max = 5000;
  Program program = finishing_cut(10000, 0.12);
  motion_of(program.steps.back())->feed_mode = motion::FeedMode::per_revolution;
  CHECK(motion_of(run(make_clamp_spindle, program.steps, bench.context)[2])->feed == 0.12);
}

TEST_CASE("a tapping feed keeps its pitch", "[clamp-spindle]") {
  Bench bench;
  bench.machine.spindle_max = 500;
  motion::Cycle cycle;
  cycle.code = 840;
  cycle.feed = 800; // M5 x 0.8 at 1000 rpm
  Program program;
  program(motion::SpindleSpeed{1000})(cycle);
  auto const out = run(make_clamp_spindle, program.steps, bench.context);
  CHECK(std::get<motion::Cycle>(out[1].event).feed == 400);
}

TEST_CASE("a speed below the range is a warning and nothing changes", "[clamp-spindle]") {
  Bench bench;
  bench.machine.spindle_min = 2000;
  auto const steps = finishing_cut(800, 100).steps;
  CHECK(same_stream(run(make_clamp_spindle, steps, bench.context), steps));
  CHECK(bench.found("spindle-too-slow"));
  CHECK_FALSE(bench.findings.has_errors());
}

TEST_CASE("M4 is an error on a machine that cannot turn that way", "[clamp-spindle]") {
  Bench bench;
  Program program;
  program(motion::SpindleTurn{motion::Rotation::counter_clockwise});
  run(make_clamp_spindle, program.steps, bench.context);
  CHECK_FALSE(bench.found("spindle-direction"));
  bench.machine.spindle_counter_clockwise = false;
  run(make_clamp_spindle, program.steps, bench.context);
  CHECK(bench.found("spindle-direction"));
  CHECK(bench.findings.has_errors());
}

TEST_CASE("a feed that is above its limit only at the clamped speed is lowered once, not twice",
          "[clamp-spindle]") {
  Bench bench;
  bench.machine.spindle_max = 8000;
  bench.machine.max_feed = {1000, 1000, 1000};
  auto const slower = run(make_clamp_spindle, finishing_cut(16000, 2000).steps, bench.context);
  auto const out = run(make_clamp_feeds, slower, bench.context);
  CHECK(motion_of(out[2])->feed == 1000); // 0.125 mm/rev, as programmed
}

TEST_CASE("whichever of the two clamps runs first, no feed ends above its limit", "[clamp-spindle][law]") {
  CHECK(rc::check([] {
    Bench bench;
    bench.machine.spindle_max = restep::property::draw(1000, 10000);
    double const limit = restep::property::draw(100, 3000);
    bench.machine.max_feed = {limit, limit, limit};
    auto const steps =
        finishing_cut(restep::property::draw(500, 30000), restep::property::draw(100, 5000000) * 0.001).steps;
    auto const a = run(make_clamp_feeds, run(make_clamp_spindle, steps, bench.context), bench.context);
    auto const b = run(make_clamp_spindle, run(make_clamp_feeds, steps, bench.context), bench.context);
    RC_ASSERT(motion_of(a[2])->feed <= limit * (1 + 1e-9));
    RC_ASSERT(motion_of(b[2])->feed <= motion_of(a[2])->feed * (1 + 1e-9));
  }));
}

TEST_CASE("clamping the spindle twice changes nothing more", "[clamp-spindle][law]") {
  CHECK(rc::check([] {
    Bench bench, again;
    bench.machine.spindle_max = again.machine.spindle_max = restep::property::draw(1000, 10000);
    auto const steps =
        finishing_cut(restep::property::draw(500, 30000), restep::property::draw(100, 5000000) * 0.001).steps;
    auto const once = run(make_clamp_spindle, steps, bench.context);
    RC_ASSERT(same_stream(run(make_clamp_spindle, once, again.context), once));
  }));
}
