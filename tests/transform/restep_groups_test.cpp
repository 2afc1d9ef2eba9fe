#include "cutter/cusp.hpp"
#include "fixture.hpp"

#include <catch2/catch.hpp>

#include <cmath>

/// Levels that rise inside each group while the groups go down.

using namespace restep;
using namespace restep::transform::testing;
using geometry::Vec2;

namespace {

struct GroupRun {
  TrueStack stack;
  Restepped out;
};
GroupRun run_groups(double target) {
  GroupRun ran{true_stacks("grouped").front(), {}};
  auto input = text::Input::open(fixture_path("grouped", "program.nc")).value();
  ran.out = run_restep(read_program(input), {ran.stack.tool}, cusp_target(target), 1e-4);
  return ran;
}

// The heights of the contours in the order they are cut.
std::vector<double> heights(std::vector<Step> const& steps) {
  std::vector<double> z;
  for (Step const& s : steps)
    if (motion::Motion const* m = motion::motion_of(s);
        m != nullptr && motion::is_arc(*m) && (z.empty() || z.back() != m->to.z))
      z.push_back(m->to.z);
  return z;
}

} // namespace

TEST_CASE("groups of levels are one pass whose surface is found across their borders", "[restep]") {
  auto const ran = run_groups(2);
  REQUIRE(ran.out.proof_failure == "");
  REQUIRE(ran.out.passes.size() == 1);
  finish::PassReport const& pass = ran.out.passes.front();
  INFO(pass.reason);
  CHECK(pass.status == finish::PassStatus::restepped);
  CHECK(pass.before.levels == ran.stack.levels.size());
  REQUIRE(pass.surface.size() == 2);
  CHECK(pass.surface[0].radius == Approx(1).margin(0.001));
  CHECK(pass.surface[1].angle == Approx(5).margin(0.02));
  CHECK(pass.gouge_um <= 0.07);
}

TEST_CASE("every cusp of a pass in groups is within the target, those across group borders too", "[restep]") {
  for (double const target : {1.0, 2.0, 5.0}) {
    auto const ran = run_groups(target);
    finish::PassReport const& pass = ran.out.passes.front();
    double shift = 0;
    for (std::size_t k = 0; k < ran.stack.levels.size(); ++k)
      shift +=
          (ran.stack.levels[k].x - pass.before.positions[k].x) / static_cast<double>(ran.stack.levels.size());
    auto const& levels = pass.after.positions;
    for (std::size_t k = 1; k < levels.size(); ++k) {
      INFO("level " << k << " of " << levels.size() << " at z " << levels[k].y);
      double const cusp = 1000 * cutter::cusp_peak_to_valley(ran.stack.tool, ran.stack.meridian,
                                                             {levels[k - 1].x + shift, levels[k - 1].y},
                                                             {levels[k].x + shift, levels[k].y});
      CHECK(cusp <= 1.005 * target);
    }
  }
}

TEST_CASE("new levels rise inside their group, and no group reaches into another", "[restep]") {
  auto const ran = run_groups(2);
  auto const z = heights(ran.out.steps);
  CHECK(z.size() == ran.out.passes.front().after.levels);
  // Neither the first cut nor the last stands deeper than the program's own, nor a new step above it.
  double const step = ran.out.passes.front().after.stepdown_max_mm + 1e-4;
  CHECK(z.front() >= -0.5 - 1e-9);
  CHECK(z.front() < -0.5 + step);
  CHECK(z.back() >= -2.6 - 1e-9);
  CHECK(z.back() < -2.6 + 2 * step);
  double lowest_before = 1e300; // of the groups so far
  double lowest = z.front();
  for (std::size_t i = 1; i < z.size(); ++i) {
    if (z[i] < z[i - 1]) { // a new group
      lowest_before = std::min(lowest_before, lowest);
      lowest = z[i];
    }
    CHECK(z[i] < lowest_before + 1e-9);
  }
}

TEST_CASE("re-stepping a re-stepped pass in groups changes nothing", "[restep]") {
  auto const once = run_groups(2);
  auto const twice = run_restep(as_read(once.out.steps), {once.stack.tool}, cusp_target(2), 1e-4);
  REQUIRE(twice.passes.size() == 1);
  INFO(twice.passes.front().reason);
  CHECK(twice.passes.front().status == finish::PassStatus::kept);
}

TEST_CASE("cusps of a pass in groups are as equal as those of a pass that goes one way", "[restep]") {
  for (double const target : {1.0, 2.0, 5.0}) {
    finish::PassReport const pass = run_groups(target).out.passes.front();
    INFO("target " << target << ": " << pass.reason);
    CHECK(pass.after.cusp_max_um <= target);
    CHECK(pass.after.cusp_min_um >= 0.9 * target);
    CHECK(pass.after.cusp_min_um >= 0.97 * pass.after.cusp_max_um);
  }
}

TEST_CASE("groups that cannot be entered elsewhere keep their first and their last cut, and say why",
          "[restep]") {
  auto input = text::Input::open(fixture_path("grouped", "program.nc")).value();
  std::vector<Step> steps = read_program(input);
  // The way down to the first contour only where the operator wants it.
  for (Step& s : steps)
    if (motion::Motion const* m = motion::motion_of(s); m != nullptr && motion::is_arc(*m))
      break;
    else if (m != nullptr && motion::is_cutting(*m))
      s.optional = true;
  TrueStack const stack = true_stacks("grouped").front();
  auto const out = run_restep(steps, {stack.tool}, cusp_target(2), 1e-4);
  REQUIRE(out.proof_failure == "");
  REQUIRE(out.passes.size() == 1);
  INFO(out.passes.front().reason);
  REQUIRE(out.passes.front().status == finish::PassStatus::restepped);
  CHECK(out.passes.front().after.cusp_max_um <= 2);
  REQUIRE(out.passes.front().after.cusp_min_um < 0.9 * 2); // what has to be explained
  CHECK(
      out.passes.front().reason.find("the first and the last level that it cuts stay where they are (a move "
                                     "on the way in or out is under block delete)") != std::string::npos);
  auto const z = heights(out.steps);
  CHECK(z.front() == Approx(-0.5));
  CHECK(z.back() == Approx(-2.6));
}
