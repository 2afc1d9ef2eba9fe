#include "steps.hpp"
#include "transform/coolant_words.hpp"
#include "transform/spindle_start.hpp"
#include "transform/tool_numbers.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::Coolant;
using motion::CoolantKind;
using motion::Dwell;
using motion::Rotation;
using motion::SpindleTurn;

namespace {

Program standing_at(motion::Vec3 at) {
  Program program;
  program.at = at;
  return program;
}

double dwell_in(std::vector<Step> const& steps) {
  double seconds = 0;
  for (Step const& step : steps)
    if (auto const* dwell = std::get_if<Dwell>(&step.event)) seconds += dwell->seconds;
  return seconds;
}

} // namespace

TEST_CASE("mist becomes flood where the machine has only flood, with a warning", "[coolant-words]") {
  Bench bench;
  bench.machine.mist = false;
  Program program;
  program(Coolant{CoolantKind::mist})(Coolant{CoolantKind::off});
  auto const once = run(make_coolant_words, program.steps, bench.context);
  CHECK(words(once) == "M8 | M9");
  CHECK(bench.found("coolant-mapped"));
  CHECK(same_stream(run(make_coolant_words, once, bench.context), once));
  CHECK(bench.edits.made() == 1);
}

TEST_CASE("coolant is left out where the machine has none, and the rest of its block stays",
          "[coolant-words]") {
  Bench bench;
  bench.machine.mist = bench.machine.flood = false;
  Program program;
  program.block({motion::SpindleSpeed{900}, Coolant{CoolantKind::flood}, SpindleTurn{Rotation::clockwise}});
  CHECK(words(run(make_coolant_words, program.steps, bench.context)) == "S900 | M3");
  CHECK(bench.found("coolant-missing"));
}

TEST_CASE("a machine with both coolants changes nothing", "[coolant-words]") {
  Bench bench;
  Program program;
  program(Coolant{CoolantKind::mist})(Coolant{CoolantKind::flood});
  CHECK(same_stream(run(make_coolant_words, program.steps, bench.context), program.steps));
}

TEST_CASE("tools, and the offsets of the tool in the spindle, get the numbers of the target machine",
          "[tool-numbers]") {
  Bench bench;
  bench.context.setting.tool_numbers = {{3, 13}, {13, 3}};
  Program program;
  program.block({motion::ToolSelect{3}, motion::ToolChange{3}})(motion::LengthOffset{true, 3});
  program(motion::Compensation{motion::Side::left, 3});
  auto const out = run(make_tool_numbers, program.steps, bench.context);
  CHECK(std::get<motion::ToolSelect>(out[0].event).tool == 13);
  CHECK(std::get<motion::ToolChange>(out[1].event).tool == 13);
  CHECK(std::get<motion::LengthOffset>(out[2].event).index == 13);
  CHECK(std::get<motion::Compensation>(out[3].event).index == 13);
  CHECK(bench.edits.made() == 4);
}

TEST_CASE("where tools are changed by hand, the offset of a tool of the program gets its number all the same",
          "[tool-numbers]") {
  Bench bench;
  bench.context.setting.tool_numbers = {{3, 13}, {4, 14}};
  bench.survey.tools = {3};
  Program program;
  program(motion::LengthOffset{true, 3})(motion::LengthOffset{true, 4});
  auto const out = run(make_tool_numbers, program.steps, bench.context);
  CHECK(std::get<motion::LengthOffset>(out[0].event).index == 13);
  CHECK(std::get<motion::LengthOffset>(out[1].event).index == 4);
  CHECK(bench.found("offset-number"));
}

TEST_CASE("an offset of another number than the tool's is not renumbered and warned about",
          "[tool-numbers]") {
  Bench bench;
  bench.context.setting.tool_numbers = {{3, 13}, {4, 14}};
  Program program;
  program.block({motion::ToolSelect{3}, motion::ToolChange{3}})(motion::LengthOffset{true, 4});
  auto const out = run(make_tool_numbers, program.steps, bench.context);
  CHECK(std::get<motion::LengthOffset>(out[2].event).index == 4);
  CHECK(bench.found("offset-number"));
}

TEST_CASE("the first cut waits for the spindle where the profile asks for it", "[spindle-start]") {
  Bench bench;
  bench.machine.spindle_start_seconds = 2.5;
  Program program = standing_at({0, 0, 5});
  program(SpindleTurn{Rotation::clockwise}).rapid(3, 0, 5).feed(3, 0, -1, 100).feed(9, 0, -1, 100);
  CHECK(same_stream(run(make_spindle_start, program.steps, bench.context), program.steps));
  bench.machine.spindle_dwell = true;
  auto const out = run(make_spindle_start, program.steps, bench.context);
  REQUIRE(out.size() == 5);
  CHECK(out[2].generated);
  CHECK(dwell_in(out) == 2.5);
  CHECK(same_stream(run(make_spindle_start, out, bench.context), out));
}

TEST_CASE("what the program itself waits is taken off", "[spindle-start]") {
  Bench bench;
  bench.machine.spindle_start_seconds = 3;
  bench.machine.spindle_dwell = true;
  Program program = standing_at({0, 0, 5});
  program(SpindleTurn{Rotation::clockwise})(Dwell{2}).feed(3, 0, -1, 100);
  program(SpindleTurn{Rotation::clockwise}).feed(4, 0, -1, 100); // it turns already
  CHECK(dwell_in(run(make_spindle_start, program.steps, bench.context)) == 3);
}
