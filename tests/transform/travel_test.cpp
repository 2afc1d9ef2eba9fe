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
