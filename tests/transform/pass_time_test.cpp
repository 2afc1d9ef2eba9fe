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

double seconds(motion::Machine const& machine, std::optional<Step> const& speed,
               std::vector<std::string> const& skipped = {}) {
  cutter::ToolTable const tools;
  motion::Survey const survey;
  text::Findings findings;
  motion::Edits edits;
  Context context{.machine = machine, .tools = tools, .survey = survey, .findings = findings, .edits = edits};
  context.skipped = skipped;
  double const time = as_run(cut(), speed, -1, context).seconds;
  CHECK(findings.all().empty()); // it tells nothing: the program's own way through the stages does
  CHECK(edits.made() == 0);
  return time;
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
