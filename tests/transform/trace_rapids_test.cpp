#include "steps.hpp"
#include "tests/draw.hpp"
#include "transform/safe_retracts.hpp"
#include "transform/standing_stock.hpp"
#include "transform/trace_rapids.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <numbers>
#include <rapidcheck.h>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::PathKind;
using motion::ToolChange;
using motion::ToolSelect;

namespace {

cutter::Tool tool_of(char const* text, int number = 1) {
  cutter::Tool tool = cutter::parse_tool(text).value();
  tool.number = number;
  return tool;
}

/// A pocket of 40 x 34 at Z-3, cut by a flat 6 in lines 2 mm apart; the tool ends in its middle.
Program pocket() {
  Program program;
  program.block({ToolSelect{1}, ToolChange{1}});
  program.rapid(0, 0, 10).rapid_z(2).feed(nowhere, nowhere, -3, 200);
  for (int line = 0; line < 18; ++line) {
    program.feed(line % 2 == 0 ? 40 : 0, nowhere, nowhere, 400);
    program.feed(nowhere, 2.0 * (line + 1), nowhere, 400);
  }
  program.feed(20, 20, nowhere, 400);
  return program;
}

Bench bench_for(Program const& program) {
  Bench bench;
  bench.tools.add(tool_of("flat 6"));
  bench.machine.rapid_clearance = 1;
  for (Step const& step : program.steps)
    bench.survey.add(step);
  return bench;
}

/// Whether the last rapid of a program is left below the safe height.
bool left_low(Program const& program, Bench& bench) {
  auto const traced = run(make_trace_rapids, program.steps, bench.context);
  for (auto step = traced.rbegin(); step != traced.rend(); ++step)
    if (auto const* move = motion_of(*step); move && !is_cutting(*move)) return move->clear;
  return false;
}

Block stock_of(double top) {
  return {{-20, -20, -30}, {100, 60, top}};
}

} // namespace

TEST_CASE("a rapid inside a cleared pocket is left low", "[trace-rapids]") {
  Program program = pocket();
  program.rapid_z(-2.5).rapid(30, 12, nowhere);
  Bench bench = bench_for(program);
  CHECK(left_low(program, bench));
  CHECK(bench.found("rapids-clear"));
  auto const out =
      run(make_safe_retracts, run(make_trace_rapids, program.steps, bench.context), bench.context);
  CHECK(words({out.back()}) == "G0 X30Y12Z-2.5");
  CHECK_FALSE(out.back().touched);
}

TEST_CASE("without the trace the same rapid goes up, across and down", "[trace-rapids]") {
  Program program = pocket();
  program.rapid_z(-2.5).rapid(30, 12, nowhere);
  Bench bench = bench_for(program);
  auto const out = run(make_safe_retracts, program.steps, bench.context);
  REQUIRE(out.size() > 3);
  CHECK(words({out.end() - 3, out.end()}) == "G0 X20Y20Z3 | G0 X30Y12Z3 | G0 X30Y12Z-2.5");
}

TEST_CASE("a rapid that leaves the pocket, keeps no distance or scrapes the floor is not clear",
          "[trace-rapids]") {
  struct Row {
    double x, y, z;
    bool clear;
  };
  for (Row const& row : {Row{30, 12, -2.5, true}, Row{60, 12, -2.5, false},     // through the wall
                         Row{39.8, 12, -2.5, false}, Row{37.5, 12, -2.5, true}, // 1 mm to the wall, and not
                         Row{30, 12, -3, false}, Row{30, 12, -2.85, true},      // on the floor, and above it
                         Row{30, 38, -2.5, false}}) {                           // beyond the last line
    Program program = pocket();
    program.rapid_z(row.z).rapid(row.x, row.y, nowhere);
    Bench bench = bench_for(program);
    CAPTURE(row.x, row.y, row.z);
    CHECK(left_low(program, bench) == row.clear);
  }
}

TEST_CASE("what is cut later does not make a rapid clear", "[trace-rapids]") {
  Program program;
  program.block({ToolSelect{1}, ToolChange{1}});
  program.rapid(20, 20, 10).feed(nowhere, nowhere, -3, 200).rapid_z(-2.5).rapid(30, 12, nowhere);
  std::size_t const traced = program.steps.size() - 1;
  Program const rest = pocket();
  Program all = program;
  all.steps.insert(all.steps.end(), rest.steps.begin() + 2, rest.steps.end());
  Bench bench = bench_for(all);
  auto const out = run(make_trace_rapids, all.steps, bench.context);
  CHECK_FALSE(motion_of(out[traced])->clear);
}

TEST_CASE("where each axis runs at its own speed the whole rectangle must be clear", "[trace-rapids]") {
  // An L of two slots, 14 wide; the diagonal across the inner corner is cut as well.
  Program program;
  program.block({ToolSelect{1}, ToolChange{1}});
  program.rapid(0, 0, 10).feed(nowhere, nowhere, -3, 200);
  for (double const aside : {-5.0, -3.0, -1.0, 1.0, 3.0, 5.0})
    program.feed(0 + aside, 0 - aside, nowhere, 400).feed(30 + aside, 30 - aside, nowhere, 400);
  program.feed(0, 0, nowhere, 400).rapid_z(-2.5).rapid(30, 30, nowhere);
  Bench bent = bench_for(program);
  CHECK_FALSE(left_low(program, bent));
  Bench straight = bench_for(program);
  straight.machine.straight_rapids = true;
  CHECK_FALSE(left_low(program, straight)); // the ends are round: there is no room ahead of the tool
  Program inside = program;
  inside.steps.erase(inside.steps.end() - 2, inside.steps.end());
  inside.at = {0, 0, -3};
  inside.feed(4, 4, nowhere, 400).rapid_z(-2.5).rapid(26, 26, nowhere);
  CHECK_FALSE(left_low(inside, bent));
  CHECK(left_low(inside, straight));
}

TEST_CASE("a tool of unknown shape, another work offset and a shift prove nothing", "[trace-rapids]") {
  Program program = pocket();
  program.rapid_z(-2.5).rapid(30, 12, nowhere);
  Bench unknown = bench_for(program);
  unknown.tools = {};
  CHECK_FALSE(left_low(program, unknown));
  Program moved = pocket();
  moved(motion::WorkOffset{1});
  moved.rapid_z(-2.5).rapid(30, 12, nowhere);
  Bench same = bench_for(moved);
  CHECK(left_low(moved, same)); // the first word for it changes nothing
  Program twice = pocket();
  twice.steps.insert(twice.steps.begin(), Program()(motion::WorkOffset{1}).steps.front());
  twice(motion::WorkOffset{2}).rapid_z(-2.5).rapid(30, 12, nowhere);
  Bench other = bench_for(twice);
  CHECK_FALSE(left_low(twice, other));
  Program shifted = pocket();
  shifted(motion::OffsetChange{920, {0, 0, 0}}).rapid_z(-2.5).rapid(30, 12, nowhere);
  Bench shift = bench_for(shifted);
  CHECK_FALSE(left_low(shifted, shift));
}

TEST_CASE("a rapid down into the job's stock goes by feed from above it", "[trace-rapids]") {
  Program program;
  program.modes.feed = 300;
  program.block({ToolSelect{1}, ToolChange{1}});
  program.rapid(0, 0, 10).rapid_z(-3).feed(30, nowhere, nowhere, 300);
  Bench bench = bench_for(program);
  bench.machine.max_plunge = 120;
  bench.context.setting.stock = stock_of(0);
  auto const out = run(make_trace_rapids, program.steps, bench.context);
  CHECK(words(out) == "T1 | M6 | G0 X0Y0Z10 | G0 X0Y0Z1 | G1 X0Y0Z-3F120 | G1 X30Y0Z-3F300");
  CHECK(first_gap(out) == out.size());
  REQUIRE(bench.edits.all().size() == 1);
  CHECK(bench.edits.all().front().why ==
        "rapid to Z-3 mm where stock stands up to Z0 mm: the last of it by feed, F120 mm/min");
}

TEST_CASE("back into a slot of its own, beside the stock and without any stock a rapid down stays one",
          "[trace-rapids]") {
  Program slot;
  slot.modes.feed = 300;
  slot.block({ToolSelect{1}, ToolChange{1}});
  slot.rapid(0, 0, 10).feed(nowhere, nowhere, -3, 100).feed(30, nowhere, nowhere, 300);
  slot.rapid_z(10).rapid(10, 0, nowhere).rapid_z(-2.9);
  Bench in_slot = bench_for(slot);
  in_slot.context.setting.stock = stock_of(0);
  CHECK(same_stream(run(make_trace_rapids, slot.steps, in_slot.context), slot.steps));
  Program outside;
  outside.modes.feed = 300;
  outside.block({ToolSelect{1}, ToolChange{1}});
  outside.rapid(-30, 0, 10).rapid_z(-3).feed(30, nowhere, nowhere, 300);
  Bench beside = bench_for(outside), no_stock = bench_for(outside);
  beside.context.setting.stock = stock_of(0);
  CHECK(same_stream(run(make_trace_rapids, outside.steps, beside.context), outside.steps));
  Program down = outside;
  CHECK(same_stream(run(make_trace_rapids, down.steps, no_stock.context), down.steps));
}

TEST_CASE("without any feed to go down with a rapid into the stock is refused", "[trace-rapids]") {
  Program program;
  program.block({ToolSelect{1}, ToolChange{1}});
  program.rapid(0, 0, 10).rapid_z(-3).feed(30, nowhere, nowhere, 300);
  Bench bench = bench_for(program);
  bench.context.setting.stock = stock_of(0);
  run(make_trace_rapids, program.steps, bench.context);
  CHECK(bench.found("rapid-into-stock"));
}

TEST_CASE("a cell counts as cut only when the tool has passed over the whole of it", "[trace-rapids]") {
  CHECK(rc::check([] {
    double const cell = *rc::gen::element(0.3, 0.7, 1.9);
    StandingStock stock({{-12, -12}, {12, 12}}, cell, 0);
    auto const place = [] { return restep::property::draw(-90, 91) / 10.0; };
    cutter::Tool const tool = tool_of(*rc::gen::element("flat 6", "ball 5", "bull 6 r1"));
    cutter::Underside const underside(tool);
    Program program;
    program.at = {place(), place(), -1};
    int const cuts = restep::property::draw(1, 12);
    std::vector<motion::Motion> moves;
    for (int i = 0; i < cuts; ++i) {
      program.feed(place(), place(), *rc::gen::element(-1.0, -2.0, -3.0), 100);
      moves.push_back(*motion_of(program.steps.back()));
      stock.cut(moves.back(), underside);
    }
    // Where the model says that a thin needle fits, the true tool must have been.
    cutter::Underside const needle(tool_of("flat 0.02"));
    for (int i = 0; i < 40; ++i) {
      geometry::Vec2 const p{place(), place()};
      double const z = *rc::gen::element(-0.5, -1.5, -2.5);
      if (!stock.clear(p, p, true, z, needle, 0, 0)) continue;
      double lowest = 0;
      for (motion::Motion const& move : moves)
        for (int k = 0; k <= 4000; ++k) {
          Vec3 const tip = motion::point_at(move, k / 4000.0);
          lowest = std::min(lowest, tip.z + underside.height(distance(geometry::xy(tip), p)));
        }
      RC_ASSERT(lowest <= z + 1e-4);
    }
  }));
}

TEST_CASE("the model stays within its memory over a region of any size", "[trace-rapids]") {
  StandingStock const wide({{-3000, -2000}, {3000, 2000}}, 0.1, 0);
  CHECK(6000 / wide.cell() * (4000 / wide.cell()) <= StandingStock::most_cells);
  StandingStock const small({{0, 0}, {10, 10}}, 0.1, 0);
  CHECK(small.cell() == 0.1);
}

TEST_CASE("tracing twice changes nothing more", "[trace-rapids]") {
  Program program = pocket();
  for (Step& step : program.steps)
    step.modes.feed = 200;
  program.modes.feed = 200;
  program.rapid_z(-2.5).rapid(30, 12, nowhere).rapid(70, 12, nowhere).rapid_z(10).rapid_z(-2);
  Bench bench = bench_for(program);
  bench.context.setting.stock = stock_of(0);
  auto const once = run(make_trace_rapids, program.steps, bench.context);
  CHECK(once.size() > program.steps.size());
  CHECK(same_stream(run(make_trace_rapids, once, bench.context), once));
}
