#include "steps.hpp"
#include "tests/draw.hpp"
#include "transform/safe_retracts.hpp"
#include "transform/tool_change.hpp"

#include <catch2/catch.hpp>

#include <rapidcheck.h>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::RetractPolicy;

namespace {

constexpr double safe_height = 1, park_height = 5;

double place() {
  return restep::property::draw(-3, 4);
}
double height() {
  return *rc::gen::element(-3.0, -1.0, 0.0, 0.5, 2.0, 5.0, 8.0, 40.0);
}
double perhaps(double value) {
  return *rc::gen::arbitrary<bool>() ? value : nowhere;
}

/// What a reader gives for a program of rapids, cuts, holes, tool changes, offsets and retracts in any order.
Program random_jumps() {
  Program program;
  int tool = 0;
  int const count = restep::property::draw(1, 25);
  for (int i = 0; i < count; ++i) {
    switch (restep::property::draw(0, 14)) {
    case 0:
    case 1:
    case 2: program.rapid(perhaps(place()), perhaps(place()), perhaps(height())); break;
    case 3: program.rapid_z(height()); break;
    case 4:
    case 5:
      program.feed(perhaps(place()), perhaps(place()), perhaps(*rc::gen::element(-3.0, -1.0, 0.0)), 200);
      break;
    case 6: program.feed(nowhere, nowhere, -2, 100); break;
    case 7: program.block({motion::ToolSelect{++tool}, motion::ToolChange{tool}}); break;
    case 8:
      program(motion::LengthOffset{true, ++tool});
      program.at.z = motion::unknown;
      break;
    case 9:
      program(motion::WorkOffset{1 + tool % 6});
      program.at = motion::unknown_position;
      break;
    case 10: {
      motion::Home home;
      home.axes = *rc::gen::element<std::uint8_t>(4, 3, 7);
      home.from = program.at;
      for (int axis = 0; axis < 3; ++axis)
        if (home.axes >> axis & 1) {
          home.via[axis] = program.at[axis];
          program.at[axis] = motion::unknown;
        }
      program(home);
      break;
    }
    case 11: {
      motion::MachineMove move;
      move.from = program.at;
      move.to =
          *rc::gen::element(Vec3{nowhere, nowhere, 0}, Vec3{0, 0, nowhere}, Vec3{nowhere, nowhere, -30});
      for (int axis = 0; axis < 3; ++axis)
        if (motion::is_known(move.to[axis])) program.at[axis] = motion::unknown;
      program(move);
      break;
    }
    case 12: {
      motion::Cycle hole;
      hole.return_level = *rc::gen::element(motion::ReturnLevel::initial, motion::ReturnLevel::retract);
      hole.from = program.at;
      hole.retract = *rc::gen::element(1.0, 3.0, 6.0);
      hole.hole = {place(), place(), -4};
      hole.clear = hole.return_level == motion::ReturnLevel::retract ? hole.retract
                   : motion::is_known(program.at.z)                  ? std::max(program.at.z, hole.retract)
                                                                     : motion::unknown;
      hole.feed = 60;
      program(hole);
      program.at = {hole.hole.x, hole.hole.y, hole.clear};
      break;
    }
    case 13: program(motion::Comment{"striker cam"}); break;
    }
  }
  if (*rc::gen::arbitrary<bool>()) program(motion::Stop{motion::StopKind::end_rewind});
  return program;
}

Bench random_bench() {
  Bench bench;
  bench.machine.retract =
      *rc::gen::element(RetractPolicy::machine_top, RetractPolicy::home, RetractPolicy::clearance);
  bench.machine.rapid_clearance = safe_height;
  bench.machine.clearance = park_height - safe_height;
  if (*rc::gen::arbitrary<bool>()) bench.survey.rapid_planes = {0.5, 2, 8};
  bench.machine.tool_change =
      *rc::gen::element(motion::ToolChangePolicy::automatic, motion::ToolChangePolicy::by_hand);
  bench.survey.highest_cut = 0;
  return bench;
}

/// The index of the first sideways rapid that is not known to be high up, or the size. Told from the output
/// alone: high is a known height at or above the safe height, or the last Z move went to the machine's top.
std::size_t first_low_rapid(std::vector<Step> const& steps) {
  bool top = false;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    motion::Event const& event = steps[i].event;
    auto const high = [&](double z) { return motion::is_known(z) ? z >= safe_height : top; };
    if (auto const* m = std::get_if<motion::Motion>(&event)) {
      bool const sideways = (motion::is_known(m->to.x) && !(m->to.x == m->from.x)) ||
                            (motion::is_known(m->to.y) && !(m->to.y == m->from.y));
      if (!is_cutting(*m) && sideways && !(high(m->from.z) && high(m->to.z))) return i;
      if (motion::is_known(m->to.z) && !(m->to.z == m->from.z)) top = false;
    } else if (auto const* c = std::get_if<motion::Cycle>(&event)) {
      top = top && c->return_level == motion::ReturnLevel::initial && !motion::is_known(c->clear);
    } else if (auto const* h = std::get_if<motion::Home>(&event)) {
      if ((h->axes & 3) && !high(h->from.z)) return i;
      if (h->axes & 4) top = true;
    } else if (auto const* g = std::get_if<motion::MachineMove>(&event)) {
      if ((motion::is_known(g->to.x) || motion::is_known(g->to.y)) && !high(g->from.z)) return i;
      if (motion::is_known(g->to.z)) top = g->to.z >= 0;
    } else if (auto const* stop = std::get_if<motion::Stop>(&event)) {
      if (stop->kind == motion::StopKind::program) top = false; // a change by hand
    }
  }
  return steps.size();
}

std::vector<motion::Motion> cuts_of(std::vector<Step> const& steps) {
  std::vector<motion::Motion> cuts;
  for (Step const& step : steps)
    if (auto const* m = motion_of(step); m && is_cutting(*m) && !step.generated) cuts.push_back(*m);
  return cuts;
}

} // namespace

TEST_CASE("no sideways rapid is left below the clearance", "[safe-retracts][law]") {
  CHECK(rc::check([] {
    Bench bench = random_bench();
    auto const changed = run(make_tool_change, random_jumps().steps, bench.context);
    auto const out = run(make_safe_retracts, changed, bench.context);
    RC_LOG(words(changed) + "\n  " + words(out));
    RC_ASSERT(first_low_rapid(out) == out.size());
  }));
}

TEST_CASE("every move starts where the one before it ended", "[safe-retracts][law]") {
  CHECK(rc::check([] {
    Bench bench = random_bench();
    bench.machine.tool_change = motion::ToolChangePolicy::automatic;
    auto const in = random_jumps().steps;
    auto const out = run(make_safe_retracts, in, bench.context);
    RC_LOG(words(in) + "\n  " + words(out));
    // A change of work offset makes everything unknown: that is where the stream may jump.
    std::vector<Step> piece;
    for (Step const& step : out) {
      if (std::holds_alternative<motion::WorkOffset>(step.event)) {
        RC_ASSERT(first_gap(piece) == piece.size());
        piece.clear();
        continue;
      }
      piece.push_back(step);
    }
    RC_ASSERT(first_gap(piece) == piece.size());
  }));
}

TEST_CASE("making rapids safe twice changes nothing more", "[safe-retracts][law]") {
  CHECK(rc::check([] {
    Bench bench = random_bench();
    auto const changed = run(make_tool_change, random_jumps().steps, bench.context);
    auto const once = run(make_safe_retracts, changed, bench.context);
    std::size_t const edits = bench.edits.made();
    auto const twice = run(make_safe_retracts, once, bench.context);
    RC_LOG(words(changed) + "\n  " + words(once) + "\n  " + words(twice));
    RC_ASSERT(same_stream(twice, once));
    RC_ASSERT(bench.edits.made() == edits);
  }));
}

TEST_CASE("every cut keeps its order, its end, and its start where the program gave one",
          "[safe-retracts][law]") {
  CHECK(rc::check([] {
    Bench bench = random_bench();
    auto const in = random_jumps().steps;
    auto const before = cuts_of(in), after = cuts_of(run(make_safe_retracts, in, bench.context));
    RC_ASSERT(before.size() == after.size());
    for (std::size_t i = 0; i < before.size(); ++i)
      for (int axis = 0; axis < 3; ++axis) {
        if (motion::is_known(before[i].from[axis])) RC_ASSERT(before[i].from[axis] == after[i].from[axis]);
        if (motion::is_known(before[i].to[axis])) RC_ASSERT(before[i].to[axis] == after[i].to[axis]);
      }
  }));
}

TEST_CASE("a program ends high up", "[safe-retracts][law]") {
  CHECK(rc::check([] {
    Bench bench = random_bench();
    Program program = random_jumps();
    program.feed(1, 1, -1, 100)(motion::Stop{motion::StopKind::end});
    auto const out = run(make_safe_retracts, program.steps, bench.context);
    motion::Event const& last = out[out.size() - 2].event;
    auto const* m = std::get_if<motion::Motion>(&last);
    bool const high_move = m && !is_cutting(*m) && m->to.z >= park_height;
    RC_ASSERT(high_move || std::holds_alternative<motion::Home>(last) ||
              std::holds_alternative<motion::MachineMove>(last));
  }));
}
