#include "steps.hpp"
#include "transform/chip_planner.hpp"
#include "transform/clamp_feeds.hpp"
#include "transform/clamp_spindle.hpp"
#include "transform/cutting_check.hpp"
#include "transform/engagement.hpp"

#include <catch2/catch.hpp>

#include <cstdint>
#include <map>
#include <utility>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::Rotation;
using motion::SpindleSpeed;
using motion::SpindleTurn;

namespace {

/// T1: 10 mm, 4 flutes, 0.03 to 0.08 mm per tooth, 100 to 320 m/min. X and Y feed 900 mm/min at most.
Bench bench_for_chips() {
  Bench bench;
  cutter::Tool tool;
  tool.number = 1;
  tool.diameter = 10;
  tool.flutes = 4;
  tool.chip_load_min = 0.03;
  tool.chip_load_max = 0.08;
  tool.cutting_speed_min = 100;
  tool.cutting_speed_max = 320;
  bench.tools.add(tool);
  bench.machine.max_feed = {900, 900, 900};
  return bench;
}

Program cutting_at(double rpm, double feed) {
  Program program;
  program.block({motion::ToolSelect{1}, motion::ToolChange{1}});
  program.block({SpindleSpeed{rpm}, SpindleTurn{Rotation::clockwise}});
  program.at = {0, 0, -1};
  program.feed(40, 0, nowhere, feed);
  return program;
}

CuttingCheck checked(Bench const& bench, std::vector<Step> const& steps) {
  CuttingCheck check(bench.machine, bench.tools, true);
  for (Step const& step : steps)
    check.add(step);
  return check;
}

std::map<std::uint32_t, double> planned(Bench const& bench, Program const& program) {
  ChipPlanner planner(bench.machine, bench.tools);
  for (Step const& step : program.steps)
    planner.add(step);
  return planner.speeds();
}

bool has(text::Findings const& findings, std::string_view code) {
  for (text::Finding const& finding : findings.all())
    if (finding.code == code) return true;
  return false;
}

} // namespace

// fz = vf / (n z), formula (34): 900 / (10000 * 4) = 0.0225 < 0.03; n' = 900 / (4 * 0.03) = 7500.
TEST_CASE("a feed clamp that would make the tool rub lowers the speed instead", "[chips]") {
  Bench bench = bench_for_chips();
  Program const program = cutting_at(10000, 2000);
  bench.context.planned_speeds = planned(bench, program);
  REQUIRE(bench.context.planned_speeds.size() == 1);
  auto const slower = run(make_clamp_spindle, program.steps, bench.context);
  auto const out = run(make_clamp_feeds, slower, bench.context);
  CHECK(std::get<SpindleSpeed>(out[2].event).rpm == 7500);
  CHECK(motion_of(out[4])->feed == 900);
  auto const figures = checked(bench, out).figures();
  CHECK(figures[0].chip.least == Approx(0.03));
}

// The same cut with its feed said in the other ways: 2000 / 10000 = 0.2 mm per revolution, 2000 / 40 = 50 per
// minute for its 40 mm. The chips and the speed are those of the feed per minute.
TEST_CASE("feeds per revolution and inverse-time feeds lower the speed as the feed per minute does",
          "[chips]") {
  for (auto const& [mode, feed] :
       {std::pair{motion::FeedMode::per_revolution, 0.2}, std::pair{motion::FeedMode::inverse_time, 50.0}}) {
    Bench bench = bench_for_chips();
    Program program = cutting_at(10000, feed);
    motion_of(program.steps.back())->feed_mode = mode;
    bench.context.planned_speeds = planned(bench, program);
    auto const slower = run(make_clamp_spindle, program.steps, bench.context);
    auto const out = run(make_clamp_feeds, slower, bench.context);
    CHECK(std::get<SpindleSpeed>(out[2].event).rpm == 7500);
    CHECK(motion_of(out[4])->feed ==
          Approx(mode == motion::FeedMode::per_revolution ? 900 / 7500.0 : 900 / 40.0));
    CHECK(checked(bench, out).figures()[0].chip.least == Approx(0.03));
  }
}

// Formula (43): sqrt(20 mm/s^2 * 20 mm) = 20 mm/s = 1200 mm/min; 1200 / (14000 * 4) = 0.0214 < 0.03, and
// n' = 1200 / (4 * 0.03) = 10000.
TEST_CASE("an arc that the acceleration slows lowers the speed, unless it is a corner's", "[chips]") {
  Bench bench = bench_for_chips();
  bench.machine.max_feed = {9000, 9000, 9000};
  bench.machine.acceleration = {20, 20, 20};
  Program program = cutting_at(14000, 2000);
  program.steps.pop_back();
  Program circle = program, corner = program;
  circle.at = corner.at = {0, 0, -1};
  circle.arc(motion::PathKind::arc_ccw, motion::Plane::xy, {0, 0, -1}, {20, 0, -1}, 2000);
  CHECK(planned(bench, circle).begin()->second == 10000);
  corner.arc(motion::PathKind::arc_ccw, motion::Plane::xy, {2, 2, -1}, {0, 2, -1}, 2000);
  CHECK(planned(bench, corner).empty());
}

// 100 m/min at 10 mm are 3183.1 rpm (formula (34)); 900 / (4 * 0.03) = 7500 is above, 900 / (4 * 0.3) = 750
// is not.
TEST_CASE("the speed is not lowered below the tool's cutting speed; the thin chip is told", "[chips]") {
  Bench bench = bench_for_chips();
  cutter::Tool tool = *bench.tools.find(1);
  tool.chip_load_min = 0.3;
  tool.chip_load_max = 0.5;
  bench.tools.add(tool);
  Program const program = cutting_at(4000, 6000);
  ChipPlanner planner(bench.machine, bench.tools);
  for (Step const& step : program.steps)
    planner.add(step);
  CHECK(planner.speeds().empty());
  text::Findings findings;
  checked(bench, run(make_clamp_feeds, program.steps, bench.context)).report(findings);
  CHECK(has(findings, "chip-thin"));
}

TEST_CASE("chips and cutting speeds outside the tool table are told with their lines", "[chips]") {
  Bench bench = bench_for_chips();
  auto const codes = [&](double rpm, double feed, std::string_view code) {
    text::Findings findings;
    checked(bench, cutting_at(rpm, feed).steps).report(findings);
    for (text::Finding const& finding : findings.all())
      if (finding.code == code) return finding.line;
    return 0u;
  };
  CHECK(codes(8000, 8000 * 4 * 0.029, "chip-thin") == 3);
  CHECK(codes(8000, 8000 * 4 * 0.03, "chip-thin") == 0);
  CHECK(codes(8000, 8000 * 4 * 0.081, "chip-thick") == 3);
  CHECK(codes(3100, 3100 * 4 * 0.05, "cutting-speed") == 3);   // 97.4 m/min
  CHECK(codes(10300, 10300 * 4 * 0.05, "cutting-speed") == 3); // 323.6 m/min
  CHECK(codes(8000, 8000 * 4 * 0.05, "cutting-speed") == 0);   // 251.3 m/min
}

TEST_CASE("a plunge or a ramp is not judged as a cut with the side", "[chips]") {
  Bench bench = bench_for_chips();
  Program program = cutting_at(8000, 1600);
  program.feed(nowhere, nowhere, -2, 100).feed(30, 0, -4, 100);
  CHECK(checked(bench, program.steps).figures()[0].chip.least == Approx(0.05));
}

TEST_CASE("a cut with a standing spindle is an error where the program turns it elsewhere", "[chips]") {
  Bench bench = bench_for_chips();
  Program program = cutting_at(8000, 1600);
  program(SpindleTurn{Rotation::stop}).feed(0, 0, -1, 1600);
  text::Findings findings;
  checked(bench, program.steps).report(findings);
  CHECK(has(findings, "spindle-stands"));
  CHECK(findings.has_errors());

  Program by_hand;
  by_hand.at = {0, 0, 0};
  by_hand.feed(5, 0, 0, 100);
  text::Findings others;
  checked(bench, by_hand.steps).report(others);
  CHECK(has(others, "spindle-never-turns"));
  CHECK_FALSE(others.has_errors());
}

// 0.1 mm at 1200 mm/min take 0.005 s: 200 blocks per second.
TEST_CASE("moves too short for the control's reading are told", "[chips]") {
  Bench bench = bench_for_chips();
  Program program = cutting_at(8000, 1200);
  for (int i = 1; i <= 64; ++i)
    program.feed(40 + 0.1 * i, 0, nowhere, 1200);
  bench.machine.blocks_per_second = 190;
  text::Findings slow, quick;
  checked(bench, program.steps).report(slow);
  CHECK(has(slow, "blocks-per-second"));
  bench.machine.blocks_per_second = 210;
  checked(bench, program.steps).report(quick);
  CHECK_FALSE(has(quick, "blocks-per-second"));
}

// A 6 mm ball at ap = 0.3 mm: Deff = 2 sqrt(0.3 (6 - 0.3)) = 2.615 mm, formula (35); chip x sin kappa = 2.615
// / 6.
TEST_CASE("a pass tells the diameter that cuts at its stepdown, and how the chip thins there", "[chips]") {
  Bench bench;
  cutter::Tool ball;
  ball.number = 5;
  ball.kind = cutter::ToolKind::ball;
  ball.diameter = 6;
  ball.corner_radius = 3;
  ball.max_stepdown = 0.4;
  bench.tools.add(ball);
  finish::PassReport pass;
  pass.tool = 5;
  pass.status = finish::PassStatus::restepped;
  pass.before.stepdown_max_mm = 0.3;
  pass.after.stepdown_max_mm = 0.5;
  bench.context.passes.push_back(pass);
  judge_passes(bench.context);
  CHECK(bench.context.passes[0].before.effective_diameter_mm == Approx(2.615).margin(0.0005));
  CHECK(bench.context.passes[0].before.chip_thinning == Approx(2.615 / 6).margin(0.0005));
  CHECK(bench.found("stepdown-large"));
}

TEST_CASE("a re-stepped pass may ask no more width of its tool than the tool table allows", "[chips]") {
  for (auto const& [most, told] : {std::pair{0.09, true}, std::pair{0.1, false}, std::pair{0.0, false}}) {
    Bench bench;
    cutter::Tool bull = cutter::parse_tool("bull 6 r0.5").value();
    bull.number = 5;
    bull.max_stepover = most;
    bench.tools.add(bull);
    finish::PassReport pass;
    pass.tool = 5;
    pass.status = finish::PassStatus::restepped;
    pass.before.positions = {{0, 0}, {0.08, -0.1}};
    pass.after.positions = {{0, 0}, {0.1, -0.1}};
    bench.context.passes.push_back(pass);
    judge_passes(bench.context);
    CHECK(bench.found("stepover-large") == told);
  }
}

// A bull of 6 mm with r0.5 and 4 flutes at ap = 0.1 mm: Deff = 5 + 2 sqrt(0.1 (1 - 0.1)) = 5.6, sin kappa =
// sqrt(1 - 0.8^2) = 0.6 (surface-finish reference, case 52). At ae = 0.1: 2 sqrt(ae/D (1 - ae/D)) with D =
// 5.6 is 0.264862 by hand, formula (37); vc = pi 5.6 8000 / 1000 = 140.743; fz = 960 / (8000 4) = 0.03.
TEST_CASE("a pass tells its width of cut, the speed where it cuts and how thick its chips get", "[chips]") {
  Bench bench;
  cutter::Tool bull = cutter::parse_tool("bull 6 r0.5").value();
  bull.number = 5;
  bull.flutes = 4;
  bull.cutting_speed_min = 145;
  bench.tools.add(bull);
  finish::PassReport pass;
  pass.tool = 5;
  pass.before.stepdown_max_mm = 0.1;
  pass.before.positions = {{0, 0}, {0.1, -0.1}, {0.15, -0.2}};
  pass.before.spindle_rpm = 8000;
  pass.before.feed_max_mm_min = 960;
  pass.after = pass.before;
  pass.after.positions = {{0, 0}, {0, -0.1}}; // a wall
  pass.after.spindle_rpm = 8500;              // pi 6 8500 / 1000 = 160.2, pi 5.6 8500 / 1000 = 149.5
  pass.index = 1;
  bench.context.passes = {pass, pass};
  bench.context.passes[1].index = 2;
  bench.context.passes[1].after.spindle_rpm = 8000; // 150.8, but 140.7 where it cuts
  judge_passes(bench.context);
  finish::LevelFigures const &round = bench.context.passes[0].before, &wall = bench.context.passes[0].after;
  CHECK(round.effective_diameter_mm == Approx(5.6));
  CHECK(round.stepover_max_mm == Approx(0.1));
  CHECK(round.radial_thinning == Approx(0.264862).margin(5e-7));
  CHECK(round.cutting_speed_m_min == Approx(140.743).margin(5e-4));
  CHECK(round.feed_per_tooth_mm == Approx(0.03));
  CHECK(round.thickest_chip_mm == Approx(0.03 * 0.6 * 0.264862).margin(1e-8));
  CHECK(wall.radial_thinning == 0);
  CHECK(wall.thickest_chip_mm == 0);
  CHECK(wall.chip_thinning == Approx(0.6));
  REQUIRE(bench.findings.all().size() == 1);
  CHECK(bench.findings.all()[0].code == "cutting-speed-engaged");
  CHECK_THAT(bench.findings.all()[0].message, Catch::Matchers::Contains("pass 2 cuts at 141 m/min"));
}
