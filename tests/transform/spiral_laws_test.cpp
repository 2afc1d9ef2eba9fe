// What must be true of every spiral: its mirror image, one of another size, one that is turned or cut the
// other way round gets the same turns.

#include "fixture.hpp"
#include "motion/arc.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <vector>

using namespace restep;
using namespace restep::transform::testing;

namespace {

std::vector<Step> steps_of(std::string const& fixture) {
  auto input = text::Input::open(fixture_path(fixture, "program.nc")).value();
  auto steps = read_program(input);
  // Comments are views into the program.
  std::erase_if(steps, [](Step const& s) { return std::holds_alternative<motion::Comment>(s.event); });
  return steps;
}

finish::PassReport run_spiral(std::vector<Step> const& steps, cutter::Tool const& tool, double target,
                              double digits) {
  auto const out = run_restep(steps, {tool}, cusp_target(target), digits);
  REQUIRE(out.passes.size() == 1);
  INFO(out.passes.front().reason);
  CHECK(out.proof_failure == "");
  REQUIRE(out.passes.front().status == finish::PassStatus::restepped);
  return out.passes.front();
}

/// The same turns at the same heights, `scale` times as large. The digits move a place by one of them.
void check_same(finish::PassReport const& one, finish::PassReport const& other, double scale, double digits) {
  CHECK(other.after.levels == one.after.levels);
  CHECK(other.after.cusp_max_um == Approx(scale * one.after.cusp_max_um).epsilon(0.01));
  auto const &a = one.after.positions, &b = other.after.positions;
  REQUIRE(a.size() == b.size());
  for (std::size_t k = 0; k < a.size(); ++k)
    CHECK(distance(scale * a[k], b[k]) < 4 * digits);
}

/// Calls `law` with the steps of each spiral, its tool, and what becomes of it at 2 um.
template <class Law>
void for_each_spiral(Law const& law) {
  for (char const* fixture : {"spiral", "spiral-open"}) {
    INFO(fixture);
    auto const steps = steps_of(fixture);
    auto const tool = true_stacks(fixture).front().tool;
    law(steps, tool, run_spiral(steps, tool, 2, 1e-4));
  }
}

} // namespace

TEST_CASE("a spiral's mirror image gets the same turns", "[spiral][laws]") {
  for_each_spiral([](auto const& steps, cutter::Tool const& tool, finish::PassReport const& plain) {
    check_same(plain, run_spiral(mirrored(steps), tool, 2, 1e-4), 1, 1e-4);
  });
}

TEST_CASE("a spiral that stands turned by a right angle and elsewhere gets the same turns",
          "[spiral][laws]") {
  for_each_spiral([](auto const& steps, cutter::Tool const& tool, finish::PassReport const& plain) {
    auto const turned = moved(steps, false, [](motion::Vec3 const& p) {
      return motion::Vec3{30 - p.y, p.x - 7, p.z - 2};
    });
    auto const elsewhere = run_spiral(turned, tool, 2, 1e-4);
    CHECK(elsewhere.after.levels == plain.after.levels);
    CHECK(elsewhere.after.cusp_max_um == Approx(plain.after.cusp_max_um).epsilon(0.01));
  });
}

TEST_CASE("a spiral of twice the size at twice the cusp has as many turns", "[spiral][laws]") {
  for_each_spiral([](auto const& steps, cutter::Tool tool, finish::PassReport const& plain) {
    tool.diameter *= 2;
    tool.corner_radius *= 2;
    auto const doubled = moved(steps, false, [](motion::Vec3 const& p) { return 2 * p; });
    check_same(plain, run_spiral(doubled, tool, 4, 2e-4), 2, 2e-4);
  });
}

TEST_CASE("a spiral that is cut upwards gets the turns of the same one cut downwards", "[spiral][laws]") {
  auto const steps = steps_of("spiral");
  auto const tool = true_stacks("spiral").front().tool;
  auto const plain = run_spiral(steps, tool, 2, 1e-4);
  auto const out = run_restep(backwards(steps), {tool}, cusp_target(2), 1e-4);
  REQUIRE(out.passes.size() == 1);
  finish::PassReport const& rising = out.passes.front();
  INFO(rising.reason);
  REQUIRE(rising.status == finish::PassStatus::restepped);
  CHECK(rising.shape == "rising spiral");
  CHECK(rising.first_line < rising.last_line);
  CHECK(rising.gouge_um <= 0.1);
  check_same(plain, rising, 1, 1e-4);
  int turns = 0;
  for (Step const& s : out.steps) {
    motion::Motion const* m = motion::motion_of(s);
    if (m == nullptr || !s.generated) continue;
    ++turns;
    CHECK(m->to.z >= m->from.z);
  }
  CHECK(turns > 100);
}

TEST_CASE("a rising spiral that is re-stepped again at the same target stays as it is", "[spiral][laws]") {
  auto const tool = true_stacks("spiral").front().tool;
  auto const once = run_restep(backwards(steps_of("spiral")), {tool}, cusp_target(2), 1e-4);
  REQUIRE(once.passes.front().status == finish::PassStatus::restepped);
  auto const twice = run_restep(as_read(once.steps), {tool}, cusp_target(2), 1e-4);
  REQUIRE(twice.passes.size() == 1);
  CHECK(twice.passes.front().status == finish::PassStatus::kept);
  CHECK_THAT(twice.passes.front().reason, Catch::Contains("it already has the least number of turns"));
}

TEST_CASE("a rising spiral without a turn at its foot is left as it is, with the reason", "[spiral]") {
  auto const tool = true_stacks("spiral-open").front().tool;
  auto const out = run_restep(backwards(steps_of("spiral-open")), {tool}, cusp_target(2), 1e-4);
  REQUIRE(out.passes.size() == 1);
  CHECK(out.passes.front().status == finish::PassStatus::kept);
  CHECK(out.passes.front().reason == "it rises, and does not begin with a turn at one height");
}

TEST_CASE("a lead-out that goes on falling takes nothing from a spiral without a closing turn",
          "[spiral][laws]") {
  auto const steps = steps_of("spiral-open");
  auto const tool = true_stacks("spiral-open").front().tool;
  auto const plain = run_spiral(steps, tool, 2, 1e-4);
  // Its lead-out is the last cut, an arc at one height.
  auto falling = steps;
  motion::Motion* lead = nullptr;
  motion::Motion* behind = nullptr;
  for (Step& s : falling)
    if (motion::Motion* m = motion::motion_of(s); m != nullptr && motion::is_known(m->from)) {
      if (motion::is_cutting(*m))
        lead = m;
      else if (lead != nullptr && behind == nullptr)
        behind = m;
    }
  REQUIRE((lead != nullptr && behind != nullptr && motion::is_arc(*lead)));
  lead->to.z -= 0.05;
  behind->from.z -= 0.05;
  auto const out = run_restep(falling, {tool}, cusp_target(2), 1e-4);
  REQUIRE(out.passes.size() == 1);
  INFO(out.passes.front().reason);
  REQUIRE(out.passes.front().status == finish::PassStatus::restepped);
  check_same(plain, out.passes.front(), 1, 1e-4);
  CHECK(std::count_if(out.steps.begin(), out.steps.end(), [&](Step const& s) {
          motion::Motion const* m = motion::motion_of(s);
          return m != nullptr && *m == *lead && !s.generated && !s.touched;
        }) == 1);
}
