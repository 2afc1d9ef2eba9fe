// Material that is cleared at one height: many cuts that are no contour of a level.
#include "motion/stretch.hpp"
#include "random_part.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <variant>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using finish::PassStatus;

namespace {

constexpr std::size_t contour = 1 << 16; // no level has as many cuts

/// Round and round and outwards at one height, in cuts of 0.1 mm.
std::vector<Step> clearing(std::size_t cuts, double z) {
  Program p;
  p.rapid(0, 0, 15).rapid(0, 0, 2).feed(nowhere, nowhere, z, 150);
  double x = 0, y = 0;
  for (std::size_t i = 0; i < cuts; ++i) {
    double const angle = 0.004 * static_cast<double>(i) + 0.6 * std::sin(0.01 * static_cast<double>(i));
    x += 0.1 * std::cos(angle);
    y += 0.1 * std::sin(angle);
    p.feed(x, y, nowhere, 400);
  }
  p.rapid_z(15);
  return p.steps;
}

/// Gives steps and counts them.
class Counted final : public motion::StepSource {
public:
  explicit Counted(std::vector<Step> const& steps)
      : steps_(steps) {}
  bool next(Step& step) override {
    if (given == steps_.size()) return false;
    step = steps_[given++];
    return true;
  }
  std::size_t given = 0;

private:
  std::vector<Step> const& steps_;
};

} // namespace

TEST_CASE("material that is cleared at one height is not held", "[restep]") {
  Bench bench;
  bench.context.target = cusp_target(2);
  auto const steps = clearing(4 * contour, -1);
  Counted source(steps);
  auto const stage = make_restep(source, bench.context);
  std::size_t taken = 0, most = 0;
  for (Step step; stage->next(step); ++taken) {
    if (same(motion_of(step)->to, motion_of(steps[taken])->to)) continue;
    FAIL("another step at " << taken);
  }
  CHECK(taken == steps.size());
  Counted again(steps);
  Bench other;
  other.context.target = cusp_target(2);
  auto const once_more = make_restep(again, other.context);
  taken = 0;
  for (Step step; once_more->next(step); ++taken)
    most = std::max(most, again.given - taken);
  CHECK(most <= contour + 3);
  CHECK(bench.found("too-long-for-a-level"));
  auto const& all = bench.findings.all();
  CHECK(std::count_if(all.begin(), all.end(),
                      [](auto const& f) { return f.code == "too-long-for-a-level"; }) == 1);
}

TEST_CASE("a pass behind cleared material is found", "[restep]") {
  RandomPart part;
  part.tool = cutter::parse_tool("bull 6 r1").value();
  part.tool.number = 1;
  part.surface = {RandomSurface::Kind::round, 2, 0, 2};
  part.outline.corners = {{-14, -11}, {16, -7}, {13, 12}, {-17, 9}};
  for (int k = 1; k <= 20; ++k)
    part.depths.push_back(0.1 * k);
  auto const finishing = part.program().value();
  Restepped const alone = run_restep(finishing, {part.tool}, cusp_target(2), 1e-4);
  REQUIRE(alone.passes.size() == 1);
  REQUIRE(alone.passes.front().status == PassStatus::restepped);

  auto const is_move = [](Step const& step) { return motion::motion_of(step) != nullptr; };
  auto const first_move = std::find_if(finishing.begin(), finishing.end(), is_move);
  std::vector<Step> steps(finishing.begin(), first_move);
  for (Step const& step : clearing(contour + 500, -5))
    steps.push_back(step);
  std::size_t const before = steps.size();
  steps.insert(steps.end(), first_move, finishing.end());
  Restepped const behind = run_restep(steps, {part.tool}, cusp_target(2), 1e-4);
  CHECK(behind.proof_failure == "");
  REQUIRE(behind.passes.size() == 1);
  CHECK(behind.passes.front().status == PassStatus::restepped);
  CHECK(behind.passes.front().after.levels == alone.passes.front().after.levels);
  REQUIRE(behind.steps.size() > before);
  for (std::size_t i = 0; i < before; ++i)
    if (is_move(steps[i]) && !same(motion_of(behind.steps[i])->to, motion_of(steps[i])->to))
      FAIL("another step at " << i);
}
