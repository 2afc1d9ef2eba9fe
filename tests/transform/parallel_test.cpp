#include "fixture.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

/// Parallel passes through the stage: described where nothing is asked, re-stepped and proven where a finish
/// is.

using namespace restep;
using namespace restep::transform::testing;

namespace {

cutter::Tool tool_of(std::string const& name) {
  cutter::Tool tool = cutter::parse_tool(name == "incline" ? "bull 3 r0.3" : "ball 6").value();
  tool.number = name == "incline" ? 3 : 5;
  return tool;
}

std::vector<Step> parallel_program(std::string const& name) {
  auto input = text::Input::open(fixture_path(name, "program.nc")).value();
  return read_program(input);
}

double resolution_of(std::string const& name) {
  return name == "crown-y" ? 0.001 : name == "crown-inch" ? 0.00254 : 0.0001;
}

std::vector<std::string> const every = {"crown-x",     "crown-y",    "crown-30",   "crown-arcs",
                                        "crown-round", "crown-hole", "crown-inch", "crown-incremental",
                                        "barrel",      "seat",       "saddle"};

// A stream that tells how much of it was pulled.
class Counting final : public motion::StepSource {
public:
  explicit Counting(std::vector<Step> const& steps)
      : steps_(steps) {}
  bool next(Step& step) override {
    if (pulled == steps_.size()) return false;
    step = steps_[pulled++];
    return true;
  }
  std::size_t pulled = 0;

private:
  std::vector<Step> const& steps_;
};

// What the stage held back of a program at most, and what it said of it.
struct Held {
  std::size_t given = 0, most = 0;
  std::vector<finish::PassReport> passes;
};

Held held_back(Program const& program, transform::PassTarget const& target) {
  Bench bench;
  bench.tools.add(tool_of("crown-x"));
  bench.context.target = target;
  Counting source(program.steps);
  auto const stage = transform::make_restep(source, bench.context);
  Held held;
  for (Step step; stage->next(step); ++held.given)
    held.most = std::max(held.most, source.pulled - held.given);
  held.passes = std::move(bench.context.passes);
  return held;
}
} // namespace

TEST_CASE("every parallel pass is re-stepped and stands its proof in the height field", "[transform]") {
  for (std::string const& name : every)
    for (double const um : {2.0, 20.0}) {
      Restepped const ran =
          run_restep(parallel_program(name), {tool_of(name)}, cusp_target(um), resolution_of(name));
      INFO(name << " " << um << " " << ran.proof_failure);
      CHECK(ran.proof_failure.empty());
      REQUIRE(ran.passes.size() == 1);
      finish::PassReport const& pass = ran.passes.front();
      INFO(pass.reason);
      REQUIRE(pass.raster);
      CHECK(pass.status == finish::PassStatus::restepped);
      CHECK(pass.peak_um > 0);
      CHECK(pass.gouge_um <=
            1000 * resolution_of(name) + pass.raster->told_within_um + pass.raster->chords_um);
      // What is left above the target is said with its figure.
      if (pass.peak_um > 1.05 * um)
        CHECK_THAT(pass.reason, Catch::Matchers::Contains(fmt::format("up to {:.2f} um", pass.peak_um)));
    }
}

TEST_CASE("the material that strips left as they were leave is part of what a parallel pass is said to leave",
          "[transform]") {
  Restepped const ran = run_restep(parallel_program("crown-hole"), {tool_of("crown-hole")}, cusp_target(2),
                                   resolution_of("crown-hole"));
  REQUIRE(ran.passes.size() == 1);
  finish::PassReport const& pass = ran.passes.front();
  INFO(pass.reason);
  REQUIRE(pass.after.cusp_max_um > 4); // the strips beside the hole keep the program's stepover
  CHECK(pass.peak_um == Approx(pass.after.cusp_max_um).epsilon(0.06));
  CHECK(pass.written_cusp_um < 2.1);
}

TEST_CASE("without a finish parallel passes are described as they go through", "[transform]") {
  for (std::string const& name : every) {
    auto const program = parallel_program(name);
    Restepped const described = run_restep(program, {tool_of(name)}, {}, resolution_of(name));
    Restepped const held = run_restep(program, {tool_of(name)}, cusp_target(2), resolution_of(name));
    INFO(name);
    REQUIRE(described.passes.size() == 1);
    REQUIRE(held.passes.size() == 1);
    finish::PassReport const& a = described.passes.front();
    finish::PassReport const& b = held.passes.front();
    CHECK(a.before.levels == b.before.levels);
    CHECK(a.first_line == b.first_line);
    CHECK(a.last_line == b.last_line);
    CHECK(a.before.cusp_max_um == Approx(b.before.cusp_max_um).epsilon(0.01));
    CHECK(a.before.time_s == Approx(b.before.time_s).epsilon(0.02));
    CHECK(a.raster->direction_deg == b.raster->direction_deg);
    CHECK(described.steps.size() == program.size());
    CHECK(std::none_of(described.steps.begin(), described.steps.end(),
                       [](Step const& s) { return s.touched; }));
  }
}

TEST_CASE("without a finish a long parallel pass is not held", "[transform]") {
  // A plane that rises across the lines' direction and along it: no level, so that nothing else is kept.
  Program program;
  program.at = {0, 0, 0};
  program(motion::ToolChange{5});
  auto cut = [&](motion::Vec3 to) {
    motion::Motion m;
    m.path = motion::PathKind::line;
    m.from = program.at;
    m.to = program.at = to;
    m.feed = 900;
    program(m);
  };
  for (int k = 0; k < 60; ++k) {
    double const y = 0.2 * k;
    for (int i = 1; i <= 400; ++i) {
      double const x = (k % 2 == 0 ? i : 400 - i) * 0.1;
      cut({x, y, 0.001 * i * (k % 2 == 0 ? 1 : -1) + (k % 2 == 0 ? 0 : 0.4) + 0.01 * k});
    }
    cut({program.at.x, y + 0.2, program.at.z + 0.01});
  }
  Held const held = held_back(program, {});
  CHECK(held.given == program.steps.size());
  CHECK(held.most < 1000);
  REQUIRE(held.passes.size() == 1);
  CHECK(held.passes.front().before.levels == 60);
}

TEST_CASE("with a finish lines that are no parallel pass are not held", "[transform]") {
  // A zigzag whose lines run askew, each block rising or falling: no two neighbours are parallel.
  Program program;
  program.at = {0, 0, 0};
  program(motion::ToolChange{5});
  for (int k = 0; k < 200; ++k)
    for (int i = 1; i <= 1000; ++i) {
      motion::Motion m;
      m.path = motion::PathKind::line;
      m.from = program.at;
      double const x = (k % 2 == 0 ? i : 1000 - i) * 0.05;
      m.to = program.at = {x, 0.1 * (k + 0.001 * i), 0.01 * std::sin(x)};
      m.feed = 900;
      program(m);
    }
  Held const held = held_back(program, cusp_target(2));
  CHECK(held.given == program.steps.size());
  CHECK(held.most < 70'000);
  CHECK(held.passes.empty());
}
