#include "steps.hpp"
#include "transform/tool_change.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::Coolant;
using motion::CoolantKind;
using motion::LengthOffset;
using motion::Rotation;
using motion::SpindleSpeed;
using motion::SpindleTurn;
using motion::ToolChange;
using motion::ToolSelect;

namespace {

/// A cut with everything on, a change to T3, and another cut.
Program two_tools(bool says_off, bool says_on) {
  Program program;
  program.at = {0, 0, 5};
  program.block({SpindleSpeed{6000}, SpindleTurn{Rotation::clockwise}})(Coolant{CoolantKind::flood});
  program.feed(0, 0, -1, 100);
  if (says_off) program(SpindleTurn{})(Coolant{CoolantKind::off});
  program.block({ToolSelect{3}, ToolChange{3}});
  if (says_on)
    program.block({SpindleSpeed{8000}, SpindleTurn{Rotation::clockwise}})(Coolant{CoolantKind::mist});
  program.rapid(10, 0, nowhere).feed(20, 0, nowhere, 100);
  return program;
}

Bench hand_bench() {
  Bench bench;
  bench.machine.tool_change = motion::ToolChangePolicy::by_hand;
  cutter::Tool tool;
  tool.number = 3;
  tool.name = "bezel (long)";
  tool.kind = cutter::ToolKind::bull;
  tool.diameter = 3;
  tool.corner_radius = 0.3;
  bench.tools.add(tool);
  return bench;
}

} // namespace

TEST_CASE("a turning spindle and running coolant are off for the change and on again for the cut",
          "[tool-change]") {
  Bench bench;
  CHECK(words(run(make_tool_change, two_tools(false, false).steps, bench.context)) ==
        "S6000 | M3 | M8 | G1 X0Y0Z-1F100 | M5 | M9 | T3 | M6 | G0 X10Y0Z-1 | M3 | M8 | G1 X20Y0Z-1F100");
  REQUIRE(bench.edits.all().size() == 2);
  CHECK(bench.edits.all()[0].why == "spindle and coolant off before the tool change");
  CHECK(bench.edits.all()[1].why ==
        "spindle and coolant on again before the first cut after the tool change");
}

TEST_CASE("what the program switches itself is not doubled", "[tool-change]") {
  Bench bench;
  auto const steps = two_tools(true, true).steps;
  CHECK(same_stream(run(make_tool_change, steps, bench.context), steps));
  CHECK(bench.edits.made() == 0);
}

TEST_CASE("a spindle that the program restarts itself is not started a second time", "[tool-change]") {
  Bench bench;
  CHECK(words(run(make_tool_change, two_tools(false, true).steps, bench.context)) ==
        "S6000 | M3 | M8 | G1 X0Y0Z-1F100 | M5 | M9 | T3 | M6 | S8000 | M3 | M7 | G0 X10Y0Z-1 | G1 "
        "X20Y0Z-1F100");
}

TEST_CASE("completing a tool change twice changes nothing more", "[tool-change][law]") {
  for (bool off : {false, true})
    for (bool on : {false, true}) {
      Bench bench;
      auto const once = run(make_tool_change, two_tools(off, on).steps, bench.context);
      CHECK(same_stream(run(make_tool_change, once, bench.context), once));
      Bench hand = hand_bench();
      auto const by_hand = run(make_tool_change, two_tools(off, on).steps, hand.context);
      CHECK(same_stream(run(make_tool_change, by_hand, hand.context), by_hand));
    }
}

TEST_CASE("the block of the change itself stays as it was written", "[tool-change]") {
  Bench bench;
  auto const out = run(make_tool_change, two_tools(false, false).steps, bench.context);
  for (Step const& step : out)
    if (std::holds_alternative<ToolSelect>(step.event) || std::holds_alternative<ToolChange>(step.event))
      CHECK_FALSE(step.touched);
}

TEST_CASE("a change by hand names the tool and stops the program with everything off", "[tool-change]") {
  Bench bench = hand_bench();
  CHECK(words(run(make_tool_change, two_tools(false, true).steps, bench.context)) ==
        "S6000 | M3 | M8 | G1 X0Y0Z-1F100 | M5 | M9 | (insert T3: bull 3 r0.3, bezel  long ) | M0 | S8000 | "
        "M3 | M7 "
        "| G0 X10Y0Z-1 | G1 X20Y0Z-1F100");
}

TEST_CASE("a control without M6 has its tools changed by hand whatever the machine says", "[tool-change]") {
  Bench bench = hand_bench();
  bench.machine.tool_change = motion::ToolChangePolicy::automatic;
  bench.context.abilities.tool_change = false;
  auto const out = words(run(make_tool_change, two_tools(true, true).steps, bench.context));
  CHECK(out.find("M6") == std::string::npos);
  CHECK(out.find("| M0 |") != std::string::npos);
}

TEST_CASE("after a change by hand the spindle starts again only for the cut", "[tool-change]") {
  Bench bench = hand_bench();
  auto const out = words(run(make_tool_change, two_tools(false, false).steps, bench.context));
  CHECK(out.find("M0 | G0 X10Y0Z-1 | M3 | M8 | G1 X20Y0Z-1F100") != std::string::npos);
}

TEST_CASE("the tool that is in the spindle already is not asked for again", "[tool-change]") {
  Bench bench = hand_bench();
  Program program;
  program.block({ToolSelect{3}, ToolChange{3}}).block({ToolSelect{3}, ToolChange{3}});
  CHECK(words(run(make_tool_change, program.steps, bench.context)) ==
        "(insert T3: bull 3 r0.3, bezel  long ) | M0");
}

TEST_CASE("a tool that is not in the table is asked for by number and noted", "[tool-change]") {
  Bench bench = hand_bench();
  Program program;
  program.block({ToolSelect{7}, ToolChange{7}});
  CHECK(words(run(make_tool_change, program.steps, bench.context)) == "(insert T7) | M0");
  CHECK(bench.found("tool-unknown"));
  CHECK_FALSE(bench.findings.has_errors());
}

TEST_CASE("without a length offset the operator is asked to touch off in the same stop", "[tool-change]") {
  Bench bench = hand_bench();
  bench.context.abilities.length_offset = false;
  Program program;
  program.at = {0, 0, 50};
  program.block({ToolSelect{3}, ToolChange{3}})
      .block({LengthOffset{true, 3}, program.move(motion::PathKind::rapid, {nowhere, nowhere, 10}, 0)});
  auto const out = run(make_tool_change, program.steps, bench.context);
  CHECK(words(out) ==
        "(insert T3: bull 3 r0.3, bezel  long ) | (touch off Z with T3: no length offset on this "
        "control) | M0 | G0 X0Y0Z10");
  CHECK(out.back().touched);
  CHECK(out.back().first_in_block);
}

TEST_CASE("a tool changer without length offsets stops for touching off", "[tool-change]") {
  Bench bench;
  bench.context.abilities.length_offset = false;
  Program program;
  program.block({ToolSelect{3}, ToolChange{3}})(LengthOffset{true, 3});
  CHECK(words(run(make_tool_change, program.steps, bench.context)) ==
        "T3 | M6 | (touch off Z with T3: no length offset on this control) | M0");
}
