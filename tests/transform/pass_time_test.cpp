#include "steps.hpp"
#include "transform/pass_time.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;

namespace {

// 100 mm at 600 mm/min: ten seconds where nothing limits it.
std::vector<Step> cut() {
  Program program;
  program.at = {0, 0, 0};
  program.feed(100, 0, 0, 600);
  return program.steps;
}

PassRun run_of(std::vector<Step> const& pass, motion::Machine const& machine,
               std::optional<Step> const& speed, std::vector<std::string> const& skipped = {}) {
  cutter::ToolTable const tools;
  motion::Survey const survey;
  text::Findings findings;
  motion::Edits edits;
  Context context{.machine = machine, .tools = tools, .survey = survey, .findings = findings, .edits = edits};
  context.skipped = skipped;
  PassRun const run = as_run(pass, speed, -1, context);
  CHECK(findings.all().empty()); // it tells nothing: the program's own way through the stages does
  CHECK(edits.made() == 0);
  return run;
}

double seconds(motion::Machine const& machine, std::optional<Step> const& speed,
               std::vector<std::string> const& skipped = {}) {
  return run_of(cut(), machine, speed, skipped).seconds;
}

} // namespace

TEST_CASE("a pass takes the time that its spindle and feed limits leave it", "[pass-time]") {
  Step speed;
  speed.event = motion::SpindleSpeed{8000};
  motion::Machine machine;
  CHECK(seconds(machine, speed) == Approx(10));
  // Half the spindle speed is half the feed, so that the chip stays the same.
  machine.spindle_max = 4000;
  CHECK(seconds(machine, speed) == Approx(20));
  CHECK(seconds(machine, std::nullopt) == Approx(10));
  CHECK(seconds(machine, speed, {"clamp-spindle"}) == Approx(10));
  // Then the axis's own limit.
  machine.max_feed = {200, 200, 200};
  CHECK(seconds(machine, speed) == Approx(30));
}

// 0.1 mm per revolution: at 6000 rpm 600 mm/min and ten seconds, at 3000 rpm 300 mm/min and twenty.
TEST_CASE("a pass with feeds per revolution takes the time of its spindle's speed", "[pass-time]") {
  auto per_revolution = cut();
  motion_of(per_revolution.back())->feed_mode = motion::FeedMode::per_revolution;
  motion_of(per_revolution.back())->feed = 0.1;
  Step speed;
  speed.event = motion::SpindleSpeed{6000};
  motion::Machine machine;
  PassRun run = run_of(per_revolution, machine, speed);
  CHECK(run.seconds == Approx(10));
  CHECK(run.feed_max == Approx(600));
  machine.spindle_max = 3000;
  run = run_of(per_revolution, machine, speed);
  CHECK(run.seconds == Approx(20));
  CHECK(run.feed_max == Approx(300));
  CHECK(run.rpm == 3000);
}

// Six times a minute for 100 mm are 600 mm/min.
TEST_CASE("a pass with inverse-time feeds takes the time that they say", "[pass-time]") {
  auto inverse = cut();
  motion_of(inverse.back())->feed_mode = motion::FeedMode::inverse_time;
  motion_of(inverse.back())->feed = 6;
  PassRun const run = run_of(inverse, {}, std::nullopt);
  CHECK(run.seconds == Approx(10));
  CHECK(run.feed_max == Approx(600));
}
