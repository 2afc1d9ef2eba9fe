#include "steps.hpp"
#include "transform/safe_retracts.hpp"
#include "transform/tool_change.hpp"
#include "transform/touch_off.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::LengthOffset;
using motion::OffsetChange;
using motion::Probe;
using motion::Rotation;
using motion::ToolChange;
using motion::ToolSelect;

namespace {

Bench plate_bench() {
  Bench bench;
  bench.machine.tool_change = motion::ToolChangePolicy::by_hand;
  bench.machine.touch_off = motion::TouchOffPolicy::plate;
  bench.machine.plate = {12, 0.5, 40, 2, 100, 20, false};
  bench.context.abilities.touch_off_by_plate = true;
  bench.context.abilities.length_offset = false;
  return bench;
}

Program one_change() {
  Program program;
  program.block({ToolSelect{3}, ToolChange{3}})(LengthOffset{true, 3});
  program.at.z = nowhere;
  program(motion::SpindleTurn{Rotation::clockwise}).rapid(5, 6, nowhere).rapid_z(2).feed(5, 6, -1, 100);
  program.feed(9, 6, -1, 100);
  return program;
}

Bench surveyed(Program const& program) {
  Bench bench = plate_bench();
  for (Step const& step : program.steps)
    bench.survey.add(step);
  return bench;
}

std::vector<Step> both(Program const& program, Bench& bench) {
  return run(make_safe_retracts, run(make_tool_change, program.steps, bench.context), bench.context);
}

} // namespace

TEST_CASE("a tool changed by hand is probed twice on the plate and gets its offset", "[touch-off]") {
  Program const program = one_change();
  Bench bench = surveyed(program);
  CHECK(words(run(make_tool_change, program.steps, bench.context)) ==
        "(insert T3) | (contact plate under T3, clip on: it goes down 40 mm at most) | M0 | "
        "G92 X?Y?Z0 | G38.2 X?Y?Z-40F100 | G92 X?Y?Z0 | G0 X?Y?Z2 | G38.2 X?Y?Z-2F20 | G92 X?Y?Z12.5 | "
        "G0 X?Y?Z14.5 | (take the plate away and the clip off T3, do not move the axes) | M0 | M3 | "
        "G0 X5Y6Z? | G0 X5Y6Z2 | G1 X5Y6Z-1F100 | G1 X9Y6Z-1F100");
  CHECK(bench.found("touch-off-plate"));
}

TEST_CASE("the offset is stored with G10 L20 where the machine's profile says so", "[touch-off]") {
  Program const program = one_change();
  Bench bench = surveyed(program);
  bench.machine.plate.stores = true;
  std::string const text = words(run(make_tool_change, program.steps, bench.context));
  CHECK(text.find("M0 | L20 X?Y?Z0 | G38.2 X?Y?Z-40F100 | L20 X?Y?Z0 | G0 X?Y?Z2 | G38.2 X?Y?Z-2F20 | "
                  "L20 X?Y?Z12.5 | G0 X?Y?Z14.5 | (take") != std::string::npos);
  CHECK(text.find("G92") == std::string::npos);
}

TEST_CASE("nothing is probed unless the machine's profile asks for it", "[touch-off]") {
  Program const program = one_change();
  Bench bench = surveyed(program);
  bench.context.abilities.touch_off_by_plate = false;
  std::string const text = words(run(make_tool_change, program.steps, bench.context));
  CHECK(text.find("G38.2") == std::string::npos);
  CHECK(text.find("touch off Z with T3") != std::string::npos);
}

TEST_CASE("no probing goes further down than the profile allows", "[touch-off]") {
  for (Program const& program : {one_change()}) {
    Bench bench = surveyed(program);
    for (Step const& step : both(program, bench)) {
      auto const* probe = std::get_if<Probe>(&step.event);
      if (!probe) continue;
      double const way = probe->from.z - probe->to.z;
      CHECK(way > 0.254); // NISTIR 6556, 3.5.9.1: a shorter one is an error
      CHECK(way <= bench.machine.plate.search);
    }
  }
}

TEST_CASE("between the stop and the probing nothing moves, and the stop behind it keeps the height",
          "[touch-off]") {
  Program const program = one_change();
  Bench bench = surveyed(program);
  // The tool that the program begins with is at a height nobody measured: no retract before it is asked for.
  CHECK(words(both(program, bench)) ==
        "(insert T3) | (contact plate under T3, clip on: it goes down 40 mm at most) | M0 | "
        "G92 X?Y?Z0 | G38.2 X?Y?Z-40F100 | G92 X?Y?Z0 | G0 X?Y?Z2 | G38.2 X?Y?Z-2F20 | G92 X?Y?Z12.5 | "
        "G0 X?Y?Z14.5 | (take the plate away and the clip off T3, do not move the axes) | M0 | M3 | "
        "G0 X5Y6Z14.5 | G0 X5Y6Z2 | G1 X5Y6Z-1F100 | G1 X9Y6Z-1F100");
  CHECK_FALSE(bench.found("retract-without-length"));
  CHECK_FALSE(bench.findings.has_errors());
}

TEST_CASE("a tool that was measured is retracted before it is taken out", "[touch-off]") {
  Program program = one_change();
  program.block({ToolSelect{4}, ToolChange{4}});
  program.rapid(20, 6, nowhere).feed(20, 6, -1, 100);
  Bench bench = surveyed(program);
  std::string const text = words(both(program, bench));
  CHECK(text.find("G1 X9Y6Z-1F100 | M5 | G0 X9Y6Z5 | (insert T4)") != std::string::npos);
}

TEST_CASE("lengths of the control's table are not added to what the plate measures", "[touch-off]") {
  Program const program = one_change();
  Bench bench = surveyed(program);
  for (Step const& step : both(program, bench))
    CHECK_FALSE(std::holds_alternative<LengthOffset>(step.event));
  CHECK(bench.edits.by_stage().front().edits == 3); // the touch-off, the change, G43 left out
}

TEST_CASE("a G43 without a change asks for the plate as well", "[touch-off]") {
  Program program;
  program(LengthOffset{true, 1}).feed(0, 0, -1, 100);
  Bench bench = surveyed(program);
  std::string const text = words(run(make_tool_change, program.steps, bench.context));
  CHECK(text.find("(contact plate under the tool, clip on: it goes down 40 mm at most) | M0 | G92") == 0);
}

TEST_CASE("a program that changes the offset of Z itself is refused", "[touch-off]") {
  struct Row {
    motion::Event event;
    bool lost;
  };
  for (Row const& row :
       {Row{OffsetChange{920, {nowhere, nowhere, 0}}, true}, Row{OffsetChange{921, {}}, true},
        Row{OffsetChange{922, {}}, true}, Row{OffsetChange{920, {0, 0, nowhere}}, false},
        Row{motion::SetOrigin{1, {nowhere, nowhere, 3}}, true},
        Row{motion::SetOrigin{1, {3, nowhere, nowhere}}, false}}) {
    Program program = one_change();
    program(row.event);
    Bench bench = surveyed(program);
    run(make_tool_change, program.steps, bench.context);
    CHECK(bench.found("touch-off-lost") == row.lost);
  }
}

TEST_CASE("G10 sets one work offset, so that a program with several is refused", "[touch-off]") {
  for (bool const stores : {false, true}) {
    Program program = one_change();
    program(motion::WorkOffset{2}).rapid(0, 0, 5);
    Bench bench = surveyed(program);
    bench.machine.plate.stores = stores;
    run(make_tool_change, program.steps, bench.context);
    CHECK(bench.found("touch-off-systems") == stores);
  }
}

TEST_CASE("an empty spindle is not touched off", "[touch-off]") {
  Program program;
  program.block({ToolSelect{0}, ToolChange{0}});
  Bench bench = surveyed(program);
  CHECK(words(run(make_tool_change, program.steps, bench.context)) == "(take the tool out) | M0");
}
