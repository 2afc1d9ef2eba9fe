#include "steps.hpp"
#include "transform/safe_retracts.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::LengthOffset;
using motion::PathKind;
using motion::RetractPolicy;
using motion::Stop;
using motion::StopKind;
using motion::ToolChange;
using motion::ToolSelect;
using motion::WorkOffset;

namespace {

/// Highest cut Z0, sideways rapids safe from Z1, retracts to Z5.
Bench bench_with(RetractPolicy policy) {
  Bench bench;
  bench.machine.retract = policy;
  bench.machine.rapid_clearance = 1;
  bench.machine.clearance = 4;
  bench.survey.highest_cut = 0;
  return bench;
}

std::string retracted(Program const& program, RetractPolicy policy = RetractPolicy::clearance) {
  Bench bench = bench_with(policy);
  return words(run(make_safe_retracts, program.steps, bench.context));
}

Program starting_at(Vec3 at) {
  Program program;
  program.at = at;
  return program;
}

/// A program that has cut something and stands at `at`.
Program after_a_cut(Vec3 at) {
  Program program = starting_at(at);
  program.feed(at.x, at.y, at.z, 300);
  return program;
}

} // namespace

TEST_CASE("a sideways rapid below the clearance goes up, across and down", "[safe-retracts]") {
  CHECK(retracted(starting_at({0, 0, -2}).rapid(50, 20, nowhere)) ==
        "G0 X0Y0Z5 | G0 X50Y20Z5 | G0 X50Y20Z-2");
}

TEST_CASE("the mended rapid is told with both heights", "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::clearance);
  auto const out =
      run(make_safe_retracts, starting_at({0, 0, -2}).rapid(50, 20, nowhere).steps, bench.context);
  REQUIRE(bench.edits.all().size() == 1);
  CHECK(bench.edits.all()[0].why ==
        "rapid to X50 Y20 from Z-2 mm to Z-2 mm: up first, sideways at Z5 mm, then down");
  CHECK(bench.edits.all()[0].line == 1);
  CHECK(bench.context.retracts_inserted == 1);
  CHECK(out[0].generated);
  CHECK(out[1].generated);
  CHECK(out[2].touched);
}

TEST_CASE("a short sideways rapid below the clearance is mended as well", "[safe-retracts]") {
  CHECK(retracted(starting_at({0, 0, 0.9}).rapid(0.01, 0, nowhere)) ==
        "G0 X0Y0Z5 | G0 X0.01Y0Z5 | G0 X0.01Y0Z0.9");
}

TEST_CASE("a level rapid above the cut by the clearance of rapids is left alone", "[safe-retracts]") {
  for (double z : {1.0, 2.0, 12.0}) {
    Bench bench = bench_with(RetractPolicy::clearance);
    auto const steps = starting_at({0, 0, z}).rapid(50, 20, nowhere).rapid(0, 0, nowhere).steps;
    CHECK(same_stream(run(make_safe_retracts, steps, bench.context), steps));
    CHECK(bench.edits.made() == 0);
  }
}

TEST_CASE("a diagonal rapid down goes across first, a diagonal rapid up goes up first", "[safe-retracts]") {
  CHECK(retracted(starting_at({0, 0, 30}).rapid(10, 0, 2)) == "G0 X10Y0Z30 | G0 X10Y0Z2");
  CHECK(retracted(starting_at({0, 0, -2}).rapid(10, 0, 30)) == "G0 X0Y0Z30 | G0 X10Y0Z30");
  CHECK(retracted(starting_at({0, 0, -2}).rapid(10, 0, 0.5)) == "G0 X0Y0Z5 | G0 X10Y0Z5 | G0 X10Y0Z0.5");
}

TEST_CASE("a slanting rapid above the height of retracts is left alone", "[safe-retracts]") {
  auto const steps = starting_at({0, 0, 30}).rapid(10, 0, 5).steps;
  Bench bench = bench_with(RetractPolicy::clearance);
  CHECK(same_stream(run(make_safe_retracts, steps, bench.context), steps));
}

TEST_CASE("what is too low is lifted to the lowest safe height at which the program itself travels",
          "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::clearance);
  bench.survey.rapid_planes = {0.5, 2, 15};
  CHECK(words(run(make_safe_retracts, starting_at({0, 0, -2}).rapid(50, 20, nowhere).steps, bench.context)) ==
        "G0 X0Y0Z2 | G0 X50Y20Z2 | G0 X50Y20Z-2");
}

TEST_CASE("a rapid in Z alone is left alone, up or down", "[safe-retracts]") {
  CHECK(retracted(starting_at({0, 0, -2}).rapid_z(1).rapid_z(-1)) == "G0 X0Y0Z1 | G0 X0Y0Z-1");
}

TEST_CASE("the clearance height is one that the control can write", "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::clearance);
  bench.survey.highest_cut = 0.0001;
  auto const out =
      run(make_safe_retracts, starting_at({0, 0, -2}).rapid(50, 20, nowhere).steps, bench.context);
  CHECK(words(out) == "G0 X0Y0Z5.001 | G0 X50Y20Z5.001 | G0 X50Y20Z-2");
}

TEST_CASE("a program of holes only keeps clear of its highest feed move", "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::clearance);
  bench.survey.highest_cut = -std::numeric_limits<double>::infinity();
  bench.survey.cutting.high.z = 1;
  CHECK(words(run(make_safe_retracts, starting_at({0, 0, 1.5}).rapid(9, 0, nowhere).steps, bench.context)) ==
        "G0 X0Y0Z6 | G0 X9Y0Z6 | G0 X9Y0Z1.5");
}

TEST_CASE("the first sideways rapid waits for the machine's retract", "[safe-retracts]") {
  Program const program = starting_at(motion::unknown_position).rapid(10, 20, nowhere).rapid_z(3);
  CHECK(retracted(program, RetractPolicy::clearance) == "G0 X?Y?Z5 | G0 X10Y20Z5 | G0 X10Y20Z3");
  CHECK(retracted(program, RetractPolicy::machine_top) == "G53 X?Y?Z0 | G0 X10Y20Z? | G0 X10Y20Z3");
  CHECK(retracted(program, RetractPolicy::home) == "G28 X?Y?Z? | G0 X10Y20Z? | G0 X10Y20Z3");
}

TEST_CASE("a first rapid in all three axes goes up, across, down", "[safe-retracts]") {
  Program const program = starting_at(motion::unknown_position).rapid(10, 20, 3);
  CHECK(retracted(program, RetractPolicy::clearance) == "G0 X?Y?Z5 | G0 X10Y20Z5 | G0 X10Y20Z3");
  CHECK(retracted(program, RetractPolicy::machine_top) == "G53 X?Y?Z0 | G0 X10Y20Z? | G0 X10Y20Z3");
}

TEST_CASE("a program that retracts by itself is left alone", "[safe-retracts]") {
  Program program;
  program(motion::MachineMove{true, motion::unknown_position, {nowhere, nowhere, 0}, 0});
  program.block({ToolSelect{1}, ToolChange{1}})(WorkOffset{1});
  program.rapid(10, 20, nowhere)(LengthOffset{true, 1})
      .rapid_z(15)
      .rapid_z(2)
      .feed(nowhere, nowhere, -1, 100);
  program.feed(30, 20, nowhere, 300).rapid_z(15)(Stop{StopKind::end_rewind});
  for (RetractPolicy policy : {RetractPolicy::machine_top, RetractPolicy::home, RetractPolicy::clearance}) {
    Bench bench = bench_with(policy);
    bench.survey.length_offset = true;
    CHECK(same_stream(run(make_safe_retracts, program.steps, bench.context), program.steps));
    CHECK(bench.edits.made() == 0);
    CHECK(bench.findings.all().empty());
  }
}

TEST_CASE("without G53 the retract goes to the clearance height with a warning", "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::machine_top);
  bench.context.abilities.machine_coordinates = false;
  auto const out = run(make_safe_retracts, starting_at(motion::unknown_position).rapid(10, 20, nowhere).steps,
                       bench.context);
  CHECK(words(out) == "G0 X?Y?Z5 | G0 X10Y20Z5");
  CHECK(bench.found("retract-policy"));
}

TEST_CASE("a tool change is made at the retract, and the depth is restored before the cut",
          "[safe-retracts]") {
  Program program = after_a_cut({0, 0, -2});
  program.block({ToolSelect{2}, ToolChange{2}}).rapid(50, 0, nowhere).feed(60, 0, nowhere, 300);
  CHECK(
      retracted(program, RetractPolicy::machine_top) ==
      "G1 X0Y0Z-2F300 | G53 X?Y?Z0 | T2 | M6 | G0 X50Y0Z? | G0 X50Y0Z5 | G1 X50Y0Z-2F300 | G1 X60Y0Z-2F300");
}

TEST_CASE("the way back down keeps to the plunge limit", "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::machine_top);
  bench.machine.max_plunge = 80;
  Program program = after_a_cut({0, 0, -2});
  program.block({ToolSelect{2}, ToolChange{2}}).feed(60, 0, nowhere, 300);
  auto const out = words(run(make_safe_retracts, program.steps, bench.context));
  CHECK(out.find("G1 X0Y0Z-2F80 | G1 X60Y0Z-2F300") != std::string::npos);
}

TEST_CASE("after a tool change a new height needs no way back", "[safe-retracts]") {
  Program program = after_a_cut({0, 0, -2});
  program.block({ToolSelect{2}, ToolChange{2}}).rapid(50, 0, nowhere);
  program(LengthOffset{true, 2}).rapid_z(15).feed(nowhere, nowhere, -3, 100);
  CHECK(retracted(program, RetractPolicy::machine_top) ==
        "G1 X0Y0Z-2F300 | G53 X?Y?Z0 | T2 | M6 | G0 X50Y0Z? | G43 | G0 X50Y0Z15 | G1 X50Y0Z-3F100");
}

TEST_CASE("no retract is made in work coordinates while no tool length is in force", "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::clearance);
  bench.survey.length_offset = true;
  Program program = after_a_cut({0, 0, 20});
  program.block({ToolSelect{2}, ToolChange{2}}).rapid(50, 0, nowhere);
  CHECK(words(run(make_safe_retracts, program.steps, bench.context)) ==
        "G1 X0Y0Z20F300 | T2 | M6 | G0 X50Y0Z?");
  CHECK(bench.found("retract-without-length"));
}

TEST_CASE("a retract that belongs before a change by hand is missed once, not at its message and its stop",
          "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::clearance);
  bench.survey.length_offset = true;
  Program program;
  program(motion::Comment{"insert T2", true})(Stop{StopKind::program});
  for (Step& step : program.steps) { // by tool-change, for one M6
    step.generated = true;
    step.place.line = 2;
  }
  run(make_safe_retracts, program.steps, bench.context);
  CHECK(bench.findings.all().size() == 1);
  CHECK(bench.found("retract-without-length"));
}

TEST_CASE("cancelling the tool length high up asks for no retract at the end", "[safe-retracts]") {
  for (RetractPolicy policy : {RetractPolicy::clearance, RetractPolicy::machine_top}) {
    Bench bench = bench_with(policy);
    bench.survey.length_offset = true;
    Program program = starting_at({0, 0, 0});
    program(LengthOffset{true, 1})
        .feed(5, 0, -1, 100)
        .rapid_z(20)(LengthOffset{})(Stop{StopKind::end_rewind});
    CHECK(same_stream(run(make_safe_retracts, program.steps, bench.context), program.steps));
    CHECK(bench.findings.all().empty());
  }
}

TEST_CASE("a change by hand is made at the retract, and Z counts as unknown after it", "[safe-retracts]") {
  Program program = after_a_cut({0, 0, -2});
  program(motion::Comment{"insert T2", true})(Stop{StopKind::program})
      .rapid(50, 0, nowhere)
      .feed(60, 0, nowhere, 90);
  program.steps[1].generated = program.steps[2].generated = true; // by tool-change
  CHECK(retracted(program, RetractPolicy::machine_top) ==
        "G1 X0Y0Z-2F300 | G53 X?Y?Z0 | (insert T2) | M0 | G53 X?Y?Z0 | G0 X50Y0Z? | G0 X50Y0Z5 | G1 "
        "X50Y0Z-2F90 | G1 "
        "X60Y0Z-2F90");
}

TEST_CASE("after a change by hand the height is said even where the control believes to be there",
          "[safe-retracts]") {
  Program program = after_a_cut({0, 0, -2});
  program(motion::Comment{"insert T2", true})(Stop{StopKind::program}).rapid(50, 0, nowhere).rapid_z(1);
  program.steps[1].generated = program.steps[2].generated = true; // by tool-change
  CHECK(retracted(program) ==
        "G1 X0Y0Z-2F300 | G0 X0Y0Z5 | (insert T2) | M0 | G0 X?Y?Z5.001 | G0 X50Y0Z5.001 | G0 X50Y0Z1");
}

TEST_CASE("a cut right after a change by hand begins where the program stood", "[safe-retracts]") {
  Program program = after_a_cut({7, 8, -2});
  program(motion::Comment{"insert T2", true})(Stop{StopKind::program}).feed(9, nowhere, nowhere, 90);
  program.steps[1].generated = program.steps[2].generated = true; // by tool-change
  CHECK(
      retracted(program, RetractPolicy::machine_top) ==
      "G1 X7Y8Z-2F300 | G53 X?Y?Z0 | (insert T2) | M0 | G53 X?Y?Z0 | G0 X7Y8Z? | G0 X7Y8Z5 | G1 X7Y8Z-2F90 | "
      "G1 X9Y8Z-2F90");
}

TEST_CASE("a stop that the program itself makes is left where it is", "[safe-retracts]") {
  Program program = starting_at({0, 0, -2});
  program(Stop{StopKind::program}).feed(60, 0, nowhere, 90);
  CHECK(retracted(program) == "M0 | G1 X60Y0Z-2F90");
}

TEST_CASE("the program ends at the retract", "[safe-retracts]") {
  Program down = starting_at({0, 0, 0}), up = starting_at({0, 0, 0});
  down.feed(5, 0, -1, 100)(Stop{StopKind::end_rewind});
  up.feed(5, 0, -1, 100).rapid_z(20)(Stop{StopKind::end_rewind});
  CHECK(retracted(down, RetractPolicy::machine_top) == "G1 X5Y0Z-1F100 | G53 X?Y?Z0 | M30");
  CHECK(retracted(up, RetractPolicy::machine_top) == "G1 X5Y0Z-1F100 | G0 X5Y0Z20 | M30");
}

TEST_CASE("spindle and speed words stay in one block behind the retract that their block needs",
          "[safe-retracts]") {
  Program program = starting_at({0, 0, -2});
  program.block({motion::SpindleSpeed{4000}, motion::SpindleTurn{motion::Rotation::clockwise},
                 program.move(PathKind::rapid, {50, 0, nowhere}, 0)});
  auto const out = [&] {
    Bench bench = bench_with(RetractPolicy::clearance);
    return run(make_safe_retracts, program.steps, bench.context);
  }();
  CHECK(words(out) == "G0 X0Y0Z5 | G0 X50Y0Z5 | S4000 | M3 | G0 X50Y0Z-2");
  CHECK(out[2].first_in_block);
  CHECK(out[4].last_in_block);
  CHECK_FALSE(out[2].last_in_block);
}

TEST_CASE("a retract stays behind the offset that its block selects", "[safe-retracts]") {
  Program program;
  program.block({WorkOffset{2}, program.move(PathKind::rapid, {50, 0, nowhere}, 0)});
  auto const out = [&] {
    Bench bench = bench_with(RetractPolicy::clearance);
    return run(make_safe_retracts, program.steps, bench.context);
  }();
  CHECK(words(out) == "G54 | G0 X?Y?Z5 | G0 X50Y0Z5");
  CHECK(out[0].last_in_block);
  CHECK(out[0].touched);
  CHECK(out[2].first_in_block);
}

TEST_CASE("the way to the first hole is mended, the way from hole to hole is the cycle's own",
          "[safe-retracts]") {
  Program program = starting_at({0, 0, 0.5});
  motion::Cycle hole;
  hole.from = {0, 0, 0.5};
  hole.hole = {10, 0, -5};
  hole.retract = hole.clear = 0.5;
  hole.feed = 60;
  program(hole);
  hole.from = {10, 0, 0.5};
  hole.hole = {20, 0, -5};
  program(hole);
  CHECK(retracted(program) == "G0 X0Y0Z5 | G0 X10Y0Z5 | G0 X10Y0Z0.5 | cycle X10Y0Z-5 | cycle X20Y0Z-5");
}

TEST_CASE("a rapid under cutter compensation is left alone with a warning", "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::clearance);
  Program program = starting_at({0, 0, -2});
  program.rapid(50, 20, nowhere);
  motion_of(program.steps[0])->compensated = true;
  CHECK(same_stream(run(make_safe_retracts, program.steps, bench.context), program.steps));
  CHECK(bench.found("rapid-left-alone"));
}

TEST_CASE("the way to a reference point does not dive to its intermediate point", "[safe-retracts]") {
  Program program = starting_at({10, 10, -2});
  motion::Home home;
  home.axes = 7;
  home.via = {0, 0, 0};
  home.from = {10, 10, -2};
  program(home);
  CHECK(retracted(program) == "G0 X10Y10Z5 | G28 X0Y0Z5");
}

TEST_CASE("Z alone to the reference point counts as the machine's top", "[safe-retracts]") {
  Program program = starting_at({10, 10, -2});
  motion::Home home;
  home.axes = 4;
  home.via = {nowhere, nowhere, -2};
  home.from = program.at;
  program(home);
  program.at.z = motion::unknown;
  program.rapid(50, 0, nowhere).rapid(0, 0, 2);
  CHECK(retracted(program) == "G28 X?Y?Z-2 | G0 X50Y0Z? | G0 X0Y0Z? | G0 X0Y0Z2");
}

TEST_CASE("G92 in Z behind a retract of restep's own is refused", "[safe-retracts]") {
  Bench bench = bench_with(RetractPolicy::machine_top);
  Program program = starting_at({0, 0, 0.5});
  program.block({ToolSelect{2}, ToolChange{2}})(motion::OffsetChange{920, {nowhere, nowhere, 0}});
  run(make_safe_retracts, program.steps, bench.context);
  CHECK(bench.found("offset-after-retract"));
  CHECK(bench.findings.has_errors());
}
