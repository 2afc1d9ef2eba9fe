#include "steps.hpp"
#include "transform/checks.hpp"
#include "transform/route.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;

namespace {

/// X 0 to 300, Y 0 to 180, Z -150 to 0; G54 at X100 Y50 Z-100.
Bench placed_bench(Program const& program) {
  Bench bench;
  bench.machine.travel = {300, 180, 150};
  bench.machine.travel_min = motion::Vec3{0, 0, -150};
  bench.machine.travel_max = motion::Vec3{300, 180, 0};
  bench.context.setting.offsets[1] = {100, 50, -100};
  for (Step const& step : program.steps)
    bench.survey.add(step);
  return bench;
}

std::vector<std::uint32_t> lines_of(Bench const& bench, std::string_view code) {
  std::vector<std::uint32_t> lines;
  for (text::Finding const& finding : bench.findings.all())
    if (finding.code == code) lines.push_back(finding.line);
  return lines;
}

} // namespace

TEST_CASE("with the work offset given the travel is judged where the part lies", "[checks]") {
  Program program;
  program.at = {0, 0, 10};
  program.rapid(200, 0, 10).rapid(200.1, 0, 10).rapid(-100, 130, 10).rapid(0, 0, 100.2);
  Bench bench = placed_bench(program);
  check_limits(bench.context);
  CHECK(lines_of(bench, "travel-exceeded") == std::vector<std::uint32_t>{2, 4}); // X ends at 300, Z at 0
}

TEST_CASE("the bulge of an arc counts in the travel", "[checks]") {
  Program program;
  program.at = {190, -10, 0};
  program.arc(motion::PathKind::arc_ccw, motion::Plane::xy, {190, 10, 0}, {190, 0, 0}, 100);
  Bench bench = placed_bench(program);
  check_limits(bench.context);
  CHECK(lines_of(bench, "travel-exceeded").empty()); // X reaches 200
  Program wider;
  wider.at = {190, -11, 0};
  wider.arc(motion::PathKind::arc_ccw, motion::Plane::xy, {190, 11, 0}, {190, 0, 0}, 100);
  Bench too_wide = placed_bench(wider);
  check_limits(too_wide.context);
  CHECK(lines_of(too_wide, "travel-exceeded") == std::vector<std::uint32_t>{1});
}

TEST_CASE("under G43 the travel of Z is that of the spindle: work zero and tool length on top", "[checks]") {
  Program program;
  program(motion::LengthOffset{true, 3});
  program.at = {0, 0, 20};
  program.rapid_z(25).feed(5, 0, -60, 100);
  auto const lines_with = [&](double length) {
    Bench bench = placed_bench(program); // G54 at Z-100 of -150 ... 0
    bench.context.setting.lengths[3] = length;
    check_limits(bench.context);
    CHECK_FALSE(bench.found("travel-unproven"));
    return lines_of(bench, "travel-exceeded");
  };
  CHECK(lines_with(60).empty());                          // -100 ... -15
  CHECK(lines_with(76) == std::vector<std::uint32_t>{2}); // 25 - 100 + 76 = 1
  CHECK(lines_with(9) == std::vector<std::uint32_t>{3});  // -60 - 100 + 9 = -151
  CHECK(lines_with(10).empty());                          // exactly at the end
}

TEST_CASE("the tool table knows lengths too, the job's win, and without any only the span is judged",
          "[checks]") {
  Program program;
  program(motion::LengthOffset{true, 3});
  program.at = {0, 0, 20};
  program.rapid_z(25);
  cutter::Tool tool;
  tool.number = 3;
  tool.length = 90;
  Bench by_table = placed_bench(program);
  by_table.tools.add(tool);
  check_limits(by_table.context);
  CHECK(by_table.found("travel-exceeded"));
  Bench by_job = placed_bench(program);
  by_job.tools.add(tool);
  by_job.context.setting.lengths[3] = 60;
  check_limits(by_job.context);
  CHECK_FALSE(by_job.found("travel-exceeded"));
  Bench unknown = placed_bench(program);
  check_limits(unknown.context);
  CHECK_FALSE(unknown.found("travel-exceeded"));
  CHECK(unknown.found("travel-unproven"));
}

TEST_CASE("the depth of a cycle and the way past a reference point count in the travel", "[checks]") {
  Program program;
  motion::Cycle hole;
  hole.from = {0, 0, 10};
  hole.hole = {0, 0, -51};
  hole.retract = 2;
  hole.clear = 10;
  program(hole);
  motion::Home home;
  home.axes = 4;
  home.from = {0, 0, 10};
  home.via = {nowhere, nowhere, 101};
  program(home);
  Bench bench = placed_bench(program);
  check_limits(bench.context);
  CHECK(lines_of(bench, "travel-exceeded") == std::vector<std::uint32_t>{1, 2});
}

TEST_CASE("a boring cycle that steps off the wall reaches beyond its hole", "[checks]") {
  Program program;
  motion::Cycle hole;
  hole.code = 760;
  hole.from = {199, 0, 10};
  hole.hole = {199, 0, -5};
  hole.retract = 2;
  hole.clear = 10;
  hole.shift_i = 1.5;
  program(hole);
  Bench bench = placed_bench(program);
  check_limits(bench.context);
  CHECK(lines_of(bench, "travel-exceeded") == std::vector<std::uint32_t>{1}); // X 300.5 of 300
  motion::Cycle still = hole;
  still.shift_i = 1;
  Bench inside = placed_bench(Program()(still));
  check_limits(inside.context);
  CHECK(lines_of(inside, "travel-exceeded").empty());
}

TEST_CASE("a move in machine coordinates is judged without any offset", "[checks]") {
  Program program;
  program(motion::MachineMove{true, motion::unknown_position, {nowhere, nowhere, 1}, 0});
  Bench bench = placed_bench(program);
  bench.context.setting.offsets.clear();
  check_limits(bench.context);
  CHECK(lines_of(bench, "travel-exceeded") == std::vector<std::uint32_t>{1});
}

TEST_CASE("an offset that the job does not name leaves the travel unproven", "[checks]") {
  Program program;
  program(motion::WorkOffset{2});
  program.at = {0, 0, 10};
  program.rapid(290, 0, 10);
  Bench bench = placed_bench(program);
  check_limits(bench.context);
  CHECK(lines_of(bench, "travel-unproven").size() == 1);
  CHECK(lines_of(bench, "travel-exceeded").empty());
}

TEST_CASE("flutes shorter than the depth are told with the line that goes deepest", "[checks]") {
  Program program;
  program.block({motion::ToolSelect{1}, motion::ToolChange{1}});
  program.at = {0, 0, 0};
  program.feed(5, 0, nowhere, 100).feed(9, 0, -13.5, 100);
  Bench bench = placed_bench(program);
  cutter::Tool tool;
  tool.number = 1;
  tool.diameter = 6;
  tool.flute_length = 13;
  bench.tools.add(tool);
  check_limits(bench.context);
  CHECK(lines_of(bench, "flutes-short") == std::vector<std::uint32_t>{3});
}

TEST_CASE("the job's stock sets the heights of rapids in place of the highest cut", "[safe-retracts]") {
  Bench bench;
  bench.survey.highest_cut = -4;
  bench.machine.rapid_clearance = 1;
  bench.machine.clearance = 9;
  CHECK(clearance_of(bench.context).height == Approx(-3));
  bench.context.setting.stock = Block{{-38, -21, -14}, {38, 21, 0}};
  CHECK(clearance_of(bench.context).height == Approx(1));
  CHECK(clearance_of(bench.context).park == Approx(10));
}

TEST_CASE("two tools may not get one number", "[checks]") {
  Program program;
  program.block({motion::ToolSelect{3}, motion::ToolChange{3}})
      .block({motion::ToolSelect{4}, motion::ToolChange{4}});
  Bench bench = placed_bench(program);
  bench.context.setting.tool_numbers = {{3, 4}};
  check_limits(bench.context);
  CHECK(bench.found("tool-number-twice"));
  Bench swapped = placed_bench(program);
  swapped.context.setting.tool_numbers = {{3, 4}, {4, 3}};
  check_limits(swapped.context);
  CHECK_FALSE(swapped.found("tool-number-twice"));
}
