#pragma once

#include "steps.hpp"
#include "tests/draw.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <rapidcheck.h>
#include <vector>

/// Programs, machines and jobs at random, for laws that hold for all of them.
namespace restep::transform::testing {

using motion::PathKind;
using motion::Rotation;

inline double place() {
  return restep::property::draw(-40, 41);
}

inline void random_arc(Program& program, double feed) {
  double const radius = *rc::gen::element(0.2, 1.5, 8.0, 30.0);
  double const start = restep::property::draw(0, 360) * std::numbers::pi / 180;
  double const turn = restep::property::draw(10, 350) * std::numbers::pi / 180;
  bool const ccw = *rc::gen::arbitrary<bool>();
  double const end = ccw ? start + turn : start - turn;
  auto const plane = *rc::gen::element(motion::Plane::xy, motion::Plane::zx, motion::Plane::yz);
  int const first = plane == motion::Plane::xy ? 0 : plane == motion::Plane::zx ? 2 : 1;
  int const second = (first + 1) % 3, normal = (first + 2) % 3;
  Vec3 centre = program.at, to = program.at;
  centre[first] -= radius * std::cos(start);
  centre[second] -= radius * std::sin(start);
  to[first] = centre[first] + radius * std::cos(end);
  to[second] = centre[second] + radius * std::sin(end);
  to[normal] += *rc::gen::element(0.0, 0.0, -0.5, 0.5);
  program.arc(ccw ? PathKind::arc_ccw : PathKind::arc_cw, plane, to, centre, feed);
}

/// A hole, from high up.
inline void drill(Program& program, double feed) {
  program.rapid_z(20);
  motion::Cycle hole;
  hole.code = *rc::gen::element<std::int16_t>(810, 820, 830);
  hole.return_level = *rc::gen::element(motion::ReturnLevel::initial, motion::ReturnLevel::retract);
  hole.from = program.at;
  hole.hole = {place(), place(), *rc::gen::element(-8.0, -2.0)};
  hole.retract = *rc::gen::element(13.0, 16.0);
  hole.clear = hole.return_level == motion::ReturnLevel::initial ? 20 : hole.retract;
  hole.peck = 1;
  hole.feed = feed;
  program(hole);
  program.at = {hole.hole.x, hole.hole.y, hole.clear};
}

/// The feeds of a program said in other ways: per revolution, or as the reciprocal of the move's time.
inline void say_feeds_otherwise(std::vector<Step>& steps) {
  double rpm = 0;
  for (Step& step : steps) {
    if (auto const* speed = std::get_if<motion::SpindleSpeed>(&step.event)) rpm = speed->rpm;
    auto* hole = std::get_if<motion::Cycle>(&step.event);
    auto* move = motion_of(step);
    int const kind = restep::property::draw(0, 4);
    if (kind == 0 && hole != nullptr) {
      hole->feed_mode = motion::FeedMode::per_revolution;
      hole->feed /= rpm;
    }
    if (move == nullptr || !is_cutting(*move)) continue;
    double const length = motion::length(*move);
    if (kind == 0) {
      move->feed_mode = motion::FeedMode::per_revolution;
      move->feed /= rpm;
    } else if (kind == 1 && length > 0) {
      move->feed_mode = motion::FeedMode::inverse_time;
      move->feed /= length;
    }
  }
}

/// A square cut in lines and a low rapid inside it or out of it.
inline void pocket(Program& program, double feed) {
  double const x = program.at.x, y = program.at.y;
  program.feed(nowhere, nowhere, -3, feed);
  for (int line = 0; line <= 10; ++line)
    program.feed(line % 2 == 0 ? x + 20 : x, y + 2 * line, nowhere, feed)
        .feed(nowhere, y + 2 * line + 2, nowhere, feed);
  program.feed(x + 10, y + 10, nowhere, feed).rapid_z(-2.5);
  double const far = *rc::gen::element(1, 3, 6, 15);
  program.rapid(x + 10 + far, y + 10 - far, nowhere);
}

/// Tools, each with spindle, coolant, an approach from above, cuts with links between them, and a way out.
inline Program random_job() {
  Program program;
  program.modes.units = *rc::gen::element(motion::Units::mm, motion::Units::inch);
  program.modes.distance = *rc::gen::element(motion::Distance::absolute, motion::Distance::incremental);
  bool const lengths = *rc::gen::arbitrary<bool>();
  int const tools = restep::property::draw(1, 4);
  for (int tool = 1; tool <= tools; ++tool) {
    program.block({motion::ToolSelect{tool}, motion::ToolChange{tool}});
    program.at.z = motion::unknown;
    if (lengths) program(motion::LengthOffset{true, tool});
    program.block({motion::SpindleSpeed{restep::property::draw(500, 30000) + 0.0},
                   motion::SpindleTurn{Rotation::clockwise}});
    if (*rc::gen::arbitrary<bool>())
      program(motion::Coolant{*rc::gen::element(motion::CoolantKind::mist, motion::CoolantKind::flood)});
    program.rapid(place(), place(), nowhere).rapid_z(20);
    int const moves = restep::property::draw(1, 15);
    for (int i = 0; i < moves; ++i) {
      double const feed = restep::property::draw(50, 6000);
      switch (restep::property::draw(0, 9)) {
      case 0: program.feed(nowhere, nowhere, *rc::gen::element(-3.0, -1.0, 0.0), feed); break;
      case 1: program.feed(place(), place(), nowhere, feed); break;
      case 2: program.feed(place(), place(), *rc::gen::element(-3.0, -1.0), feed); break;
      case 3: random_arc(program, feed); break;
      case 4: program.rapid(place(), place(), nowhere); break;
      case 5: pocket(program, feed); break;
      case 7: drill(program, feed); break;
      case 8: program(motion::SpindleSpeed{restep::property::draw(500, 30000) + 0.0}); break;
      case 6:
        program.rapid_z(20).rapid(place(), place(), nowhere).rapid_z(*rc::gen::element(-2.0, 4.0));
        break;
      }
    }
    program.rapid_z(20);
  }
  program(motion::Stop{motion::StopKind::end_rewind});
  if (*rc::gen::arbitrary<bool>()) say_feeds_otherwise(program.steps);
  return program;
}

inline constexpr std::array<char const*, 3> tool_texts{"flat 6", "flat 12", "flat 3"};

inline void random_machine(Bench& bench) {
  motion::Machine& machine = bench.machine;
  auto const feed = [] { return restep::property::draw(100, 5000) + 0.0; };
  machine.max_feed = {feed(), feed(), feed()};
  machine.max_plunge = *rc::gen::element(0.0, 80.0, 900.0);
  double const acceleration = *rc::gen::element(0.0, 60.0, 500.0);
  machine.acceleration = {acceleration, acceleration, acceleration};
  machine.spindle_max = *rc::gen::element(0.0, 6000.0, 24000.0);
  machine.mist = *rc::gen::arbitrary<bool>();
  machine.flood = *rc::gen::arbitrary<bool>();
  machine.spindle_start_seconds = 2;
  machine.spindle_dwell = *rc::gen::arbitrary<bool>();
  machine.retract = *rc::gen::element(motion::RetractPolicy::machine_top, motion::RetractPolicy::home,
                                      motion::RetractPolicy::clearance);
  machine.tool_change =
      *rc::gen::element(motion::ToolChangePolicy::automatic, motion::ToolChangePolicy::by_hand);
  machine.straight_rapids = *rc::gen::arbitrary<bool>();
  bench.context.abilities.home = bench.context.abilities.home_all_axes = *rc::gen::arbitrary<bool>();
  for (int number = 1; number <= 3; ++number) {
    if (restep::property::draw(0, 4) == 0) continue; // not in the table
    cutter::Tool tool = cutter::parse_tool(tool_texts[static_cast<std::size_t>(number - 1)]).value();
    tool.number = number;
    bench.tools.add(tool);
  }
}

/// What the job may say besides: a block of stock, other tool numbers on the machine, and a plate on which
/// tools that are changed by hand are measured.
inline void random_setting(Bench& bench) {
  if (*rc::gen::arbitrary<bool>())
    bench.context.setting.stock = Block{{-50, -45, -20}, {50, 45, *rc::gen::element(0.0, 2.0, 12.0)}};
  if (*rc::gen::arbitrary<bool>())
    bench.context.setting.tool_numbers =
        *rc::gen::element(std::map<int, int>{{1, 11}, {2, 12}, {3, 13}},
                          std::map<int, int>{{1, 2}, {2, 3}, {3, 1}}, std::map<int, int>{{2, 7}});
  if (bench.machine.tool_change != motion::ToolChangePolicy::by_hand || *rc::gen::arbitrary<bool>()) return;
  bench.machine.touch_off = motion::TouchOffPolicy::plate;
  bench.machine.plate = {.thickness = 12,
                         .face = *rc::gen::element(-3.0, 0.0, 2.0),
                         .search = 40,
                         .back_off = 2,
                         .feed = 100,
                         .slow_feed = 20,
                         .stores = *rc::gen::arbitrary<bool>()};
  bench.context.abilities.touch_off_by_plate = true;
  bench.context.abilities.length_offset = false;
}
} // namespace restep::transform::testing
