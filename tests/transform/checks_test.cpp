#include "steps.hpp"
#include "transform/checks.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;

namespace {

Bench bezel_bench() {
  Bench bench;
  bench.machine.travel = {100, 80, 60};
  bench.survey.cutting.low = {-10, -10, -5};
  bench.survey.cutting.high = {60, 40, 0};
  bench.survey.rapids.low = {-10, -10, -5};
  bench.survey.rapids.high = {60, 40, 50};
  return bench;
}

cutter::Tool mill(int number, double diameter) {
  cutter::Tool tool;
  tool.number = number;
  tool.diameter = diameter;
  return tool;
}

} // namespace

TEST_CASE("a program inside the travel makes no finding", "[checks]") {
  Bench bench = bezel_bench();
  check_limits(bench.context);
  CHECK(bench.findings.all().empty());
}

TEST_CASE("a span beyond the travel is an error at the line that reaches furthest", "[checks]") {
  Bench bench = bezel_bench();
  bench.survey.cutting.high.x = 95;
  bench.survey.cutting.high_line[0] = 412;
  bench.survey.rapids.low_line[0] = 7;
  bench.survey.cutting.low_line[0] = 7;
  check_limits(bench.context);
  REQUIRE(bench.findings.all().size() == 1);
  text::Finding const& finding = bench.findings.all()[0];
  CHECK(finding.code == "travel-exceeded");
  CHECK(finding.severity == text::Severity::error);
  CHECK(finding.line == 412);
  CHECK(finding.message ==
        "X travels 105 mm, from X-10 mm (line 7) to X95 mm (line 412); the machine has 100 mm");
}

TEST_CASE("rapids and cuts count together against the travel", "[checks]") {
  Bench bench = bezel_bench();
  bench.survey.rapids.high.z = 56;
  check_limits(bench.context);
  CHECK(bench.found("travel-exceeded"));
}

TEST_CASE("a travel of exactly the span is enough", "[checks]") {
  Bench bench = bezel_bench();
  bench.machine.travel = {70, 50, 55};
  check_limits(bench.context);
  CHECK_FALSE(bench.found("travel-exceeded"));
}

TEST_CASE("a program that does not move exceeds nothing", "[checks]") {
  Bench bench;
  bench.machine.travel = {1, 1, 1};
  check_limits(bench.context);
  CHECK(bench.findings.all().empty());
}

TEST_CASE("a tool that is too large is an error and one that is missing a warning", "[checks]") {
  Bench bench;
  bench.machine.max_tool_diameter = 10;
  bench.tools.add(mill(1, 16));
  bench.tools.add(mill(2, 10));
  bench.survey.tools = {1, 2, 3};
  check_limits(bench.context);
  CHECK(bench.found("tool-too-large"));
  CHECK(bench.found("tool-missing"));
  CHECK(bench.findings.count(text::Severity::error) == 1);
  CHECK(bench.findings.count(text::Severity::warning) == 1);
}

TEST_CASE("a tool whose cutting speed the spindle cannot give is a warning", "[checks]") {
  Bench bench;
  bench.machine.spindle_min = 1000;
  bench.machine.spindle_max = 5000;
  cutter::Tool small = mill(1, 6), large = mill(2, 50);
  small.cutting_speed_min = 120; // 6366 rpm
  large.cutting_speed_max = 120; // 764 rpm
  bench.tools.add(small);
  bench.tools.add(large);
  bench.survey.tools = {1, 2};
  check_limits(bench.context);
  CHECK(bench.findings.count(text::Severity::warning) == 2);
  CHECK(bench.found("spindle-range"));
}
