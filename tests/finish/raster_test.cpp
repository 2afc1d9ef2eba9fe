#include "finish/contour.hpp"
#include "finish/stack.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <vector>

/// Lines over a crowned surface are no levels, however many of their blocks happen to keep their height.

using namespace restep;

namespace {

// A bell's crown, cut in lines `spacing` mm apart at four decimals; each line creeps sideways by `askew` mm.
std::vector<motion::Step> raster(double spacing, double askew) {
  auto const rounded = [](double v) { return std::round(v * 1e4) / 1e4; };
  auto const tip = [&](double x, double y) {
    return motion::Vec3{rounded(x), rounded(y), rounded(6 * std::exp(-(x * x + y * y) / 500) - 6)};
  };
  std::vector<motion::Step> steps;
  motion::Vec3 at = tip(-30, -30);
  bool right = true;
  for (double y = -30; y <= 30; y += spacing) {
    for (double x = -30; x <= 30; x += spacing) {
      motion::Motion m;
      m.path = motion::PathKind::line;
      m.from = at;
      m.to = tip(right ? x : -x, y + askew * (x + 30) / 60);
      m.feed = 900;
      at = m.to;
      motion::Step step;
      step.event = m;
      if (!(m.from == m.to)) steps.push_back(step);
    }
    right = !right;
  }
  return steps;
}

} // namespace

TEST_CASE("raster lines over a crown are no stacks", "[finish]") {
  for (double const askew : {0.0, 0.1}) {
    finish::StackLimits limits;
    auto const stacks = finish::find_stacks(finish::find_contours(raster(0.1, askew)), limits);
    CHECK(stacks.empty());
  }
}

TEST_CASE("pieces that follow each other at falling heights are no stack", "[finish]") {
  // A staircase along one line: every tread at its own height.
  std::vector<motion::Step> steps;
  motion::Vec3 at{0, 0, 0};
  for (int i = 1; i <= 10; ++i)
    for (motion::Vec3 const to :
         {motion::Vec3{at.x + 1, 0, at.z}, motion::Vec3{at.x + 1.05, 0, at.z - 0.1}}) {
      motion::Motion m;
      m.path = motion::PathKind::line;
      m.from = at;
      m.to = to;
      m.feed = 400;
      motion::Step step;
      step.event = m;
      steps.push_back(step);
      at = to;
    }
  CHECK(finish::find_stacks(finish::find_contours(steps), {}).empty());
}
