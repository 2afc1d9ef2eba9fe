#include "steps.hpp"
#include "transform/reference_moves.hpp"
#include "transform/safe_retracts.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::RetractPolicy;

namespace {

/// A control with neither G28 nor G53; retracts go to Z5.
Bench plain_bench() {
  Bench bench;
  bench.machine.retract = RetractPolicy::clearance;
  bench.machine.rapid_clearance = 1;
  bench.machine.clearance = 4;
  bench.survey.highest_cut = 0;
  bench.context.abilities.home = bench.context.abilities.home_all_axes = false;
  bench.context.abilities.machine_coordinates = false;
  return bench;
}

Program from(Vec3 at) {
  Program program;
  program.at = at;
  return program;
}

void go_home(Program& program, std::uint8_t axes) {
  motion::Home home;
  home.axes = axes;
  home.from = program.at;
  for (int axis = 0; axis < 3; ++axis)
    if (axes >> axis & 1) {
      home.via[axis] = program.at[axis];
      program.at[axis] = nowhere;
    }
  program(home);
}

} // namespace

TEST_CASE("Z to its reference point becomes a retract where the control has no G28", "[reference-moves]") {
  Program program = from({1, 2, -3});
  go_home(program, 4);
  program.rapid(7, 8, nowhere).rapid_z(2);
  Bench bench = plain_bench();
  auto const out = run(make_reference_moves, program.steps, bench.context);
  CHECK(words(out) == "G0 X1Y2Z5 | G0 X7Y8Z5 | G0 X7Y8Z2");
  CHECK(bench.edits.made() == 1);
  CHECK(bench.findings.all().empty());
  CHECK(same(motion_of(out[1])->from, motion_of(out[0])->to));
}

TEST_CASE("the table stays where it is when X and Y cannot be sent home, and a warning names the line",
          "[reference-moves]") {
  Program program = from({1, 2, 20});
  go_home(program, 3);
  program(motion::Stop{motion::StopKind::end_rewind});
  Bench bench = plain_bench();
  CHECK(words(run(make_reference_moves, program.steps, bench.context)) == "M30");
  REQUIRE(bench.findings.all().size() == 1);
  CHECK(bench.findings.all()[0].severity == text::Severity::warning);
  CHECK(bench.findings.all()[0].line == 1);
}

TEST_CASE("moves behind a table that stayed begin where it stayed", "[reference-moves]") {
  Program program = from({1, 2, 20});
  go_home(program, 3);
  program.rapid(7, nowhere, nowhere).rapid(nowhere, 8, nowhere).feed(9, nowhere, nowhere, 100);
  Bench bench = plain_bench();
  auto const out = run(make_reference_moves, program.steps, bench.context);
  CHECK(words(out) == "G0 X7Y2Z20 | G0 X7Y8Z20 | G1 X9Y8Z20F100");
  CHECK_FALSE(bench.findings.has_errors());
}

TEST_CASE("a cut that begins at a reference point that was left out is refused", "[reference-moves]") {
  Program program = from({1, 2, 20});
  go_home(program, 3);
  program.rapid(7, nowhere, nowhere).feed(9, nowhere, -1, 100);
  Bench bench = plain_bench();
  run(make_reference_moves, program.steps, bench.context);
  CHECK(bench.found("reference-left-out"));
  CHECK(bench.findings.has_errors());
}

TEST_CASE("a tool that is high up already is not sent higher", "[reference-moves]") {
  Program program = from({1, 2, 20});
  go_home(program, 4);
  program.rapid(7, 8, nowhere);
  Bench bench = plain_bench();
  CHECK(words(run(make_reference_moves, program.steps, bench.context)) == "G0 X7Y8Z20");
}

TEST_CASE("without G53 a retract in machine coordinates goes to the clearance height", "[reference-moves]") {
  Program program = from({1, 2, -3});
  program(motion::MachineMove{true, program.at, {nowhere, nowhere, 0}, 0});
  Bench bench = plain_bench();
  CHECK(words(run(make_reference_moves, program.steps, bench.context)) == "G0 X1Y2Z5");
}

TEST_CASE("a control that only sends all axes home keeps G28 for all and gets a retract for Z alone",
          "[reference-moves]") {
  Bench bench = plain_bench();
  bench.context.abilities.home_all_axes = true;
  Program all = from({1, 2, 20});
  go_home(all, 7);
  CHECK(words(run(make_reference_moves, all.steps, bench.context)) == "G28 X1Y2Z20");
  Program z_alone = from({1, 2, 0});
  go_home(z_alone, 4);
  CHECK(words(run(make_reference_moves, z_alone.steps, bench.context)) == "G0 X1Y2Z5");
}

TEST_CASE("a control with all words keeps all its moves", "[reference-moves]") {
  Program program = from({1, 2, -3});
  go_home(program, 4);
  program(motion::MachineMove{true, program.at, {nowhere, nowhere, 0}, 0}).rapid(7, 8, nowhere);
  Bench bench;
  CHECK(same_stream(run(make_reference_moves, program.steps, bench.context), program.steps));
  CHECK(bench.edits.made() == 0);
}

TEST_CASE("the retract that stands for G28 needs no other before the tool change", "[reference-moves]") {
  Program program = from({1, 2, -3});
  program.feed(4, 2, -3, 100);
  go_home(program, 4);
  program.block({motion::ToolSelect{2}, motion::ToolChange{2}});
  Bench bench = plain_bench();
  auto const out = run(make_reference_moves, program.steps, bench.context);
  CHECK(words(run(make_safe_retracts, out, bench.context)) == "G1 X4Y2Z-3F100 | G0 X4Y2Z5 | T2 | M6");
}
