// What must be true of every spiral: its mirror image, one of another size, one that is turned or cut the
// other way round gets the same turns.

#include "fixture.hpp"
#include "motion/arc.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <vector>

using namespace restep;
using namespace restep::transform::testing;

namespace {

constexpr char const* fixtures[] = {"spiral", "spiral-open"};

std::vector<Step> steps_of(std::string const& fixture) {
  auto input = text::Input::open(fixture_path(fixture, "program.nc")).value();
  auto steps = read_program(input);
  // Comments are views into the program.
  std::erase_if(steps, [](Step const& s) { return std::holds_alternative<motion::Comment>(s.event); });
  return steps;
}

/// The same cut with every place put elsewhere; `mirrored` turns arcs the other way.
template <class Place>
std::vector<Step> placed(std::vector<Step> steps, Place const& place, bool mirrored) {
  for (Step& s : steps) {
    motion::Motion* m = motion::motion_of(s);
    if (m == nullptr) continue;
    for (motion::Vec3* p : {&m->from, &m->to, &m->centre})
      *p = place(*p);
    if (mirrored && motion::is_arc(*m))
      m->path = m->path == motion::PathKind::arc_cw ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw;
  }
  return steps;
}

finish::PassReport run(std::vector<Step> const& steps, cutter::Tool const& tool, double target,
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

} // namespace

TEST_CASE("a spiral's mirror image gets the same turns", "[spiral][laws]") {
  for (char const* fixture : fixtures) {
    INFO(fixture);
    auto const steps = steps_of(fixture);
    auto const tool = true_stacks(fixture).front().tool;
    auto const plain = run(steps, tool, 2, 1e-4);
    auto const mirrored = placed(
        steps,
        [](motion::Vec3 const& p) {
          return motion::Vec3{-p.x, p.y, p.z};
        },
        true);
    check_same(plain, run(mirrored, tool, 2, 1e-4), 1, 1e-4);
  }
}

TEST_CASE("a spiral that stands turned by a right angle and elsewhere gets the same turns",
          "[spiral][laws]") {
  for (char const* fixture : fixtures) {
    INFO(fixture);
    auto const steps = steps_of(fixture);
    auto const tool = true_stacks(fixture).front().tool;
    auto const plain = run(steps, tool, 2, 1e-4);
    auto const turned = placed(
        steps,
        [](motion::Vec3 const& p) {
          return motion::Vec3{30 - p.y, p.x - 7, p.z - 2};
        },
        false);
    auto const elsewhere = run(turned, tool, 2, 1e-4);
    CHECK(elsewhere.after.levels == plain.after.levels);
    CHECK(elsewhere.after.cusp_max_um == Approx(plain.after.cusp_max_um).epsilon(0.01));
  }
}

TEST_CASE("a spiral of twice the size at twice the cusp has as many turns", "[spiral][laws]") {
  for (char const* fixture : fixtures) {
    INFO(fixture);
    auto const steps = steps_of(fixture);
    auto tool = true_stacks(fixture).front().tool;
    auto const plain = run(steps, tool, 2, 1e-4);
    auto const doubled = placed(
        steps, [](motion::Vec3 const& p) { return 2 * p; }, false);
    tool.diameter *= 2;
    tool.corner_radius *= 2;
    check_same(plain, run(doubled, tool, 4, 2e-4), 2, 2e-4);
  }
}
