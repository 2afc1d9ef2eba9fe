#include "finish/contour.hpp"
#include "finish/offsets.hpp"
#include "finish/stack.hpp"

#include <catch2/catch.hpp>

#include <string>
#include <vector>

/// Levels with several contours: those that part or join from level to level, and those that stand on
/// different surfaces.

using namespace restep;

namespace {

class Program {
public:
  // A full circle, entered from above.
  void circle(double x, double radius, double z) {
    go({x + radius, 0, 2}, motion::PathKind::rapid);
    go({x + radius, 0, z}, motion::PathKind::line);
    motion::Motion m;
    m.path = motion::PathKind::arc_ccw;
    m.plane = motion::Plane::xy;
    m.from = m.to = at_;
    m.centre = {x, 0, z};
    m.feed = 400;
    add(m);
    go({x + radius, 0, 2}, motion::PathKind::rapid);
  }
  std::vector<finish::Stack> stacks() const { return finish::find_stacks(finish::find_contours(steps_), {}); }

private:
  void go(motion::Vec3 to, motion::PathKind path) {
    motion::Motion m;
    m.path = path;
    m.from = at_;
    m.to = to;
    m.feed = path == motion::PathKind::rapid ? 0 : 400;
    at_ = to;
    add(m);
  }
  void add(motion::Motion const& m) {
    motion::Step step;
    step.event = m;
    steps_.push_back(step);
  }

  motion::Vec3 at_{0, 0, 2};
  std::vector<motion::Step> steps_;
};

} // namespace

TEST_CASE("where contours join, the levels above and below are stacks of their own", "[finish]") {
  Program program;
  for (int k = 1; k <= 5; ++k) {
    program.circle(-6, 5 + 0.05 * k, -0.1 * k);
    program.circle(6, 5 + 0.05 * k, -0.1 * k);
  }
  for (int k = 6; k <= 10; ++k)
    program.circle(0, 12 + 0.05 * k, -0.1 * k);
  auto const stacks = program.stacks();
  REQUIRE(stacks.size() == 2);
  CHECK(stacks[0].levels.size() == 5);
  CHECK(stacks[0].levels.front().contours.size() == 2);
  CHECK(stacks[1].levels.size() == 5);
  CHECK(stacks[1].levels.front().contours.size() == 1);
}

TEST_CASE("contours of one level on different drafts are named as such", "[finish]") {
  Program program;
  for (int k = 1; k <= 6; ++k) {
    program.circle(-20, 5 + 0.01 * k, -0.1 * k);
    program.circle(20, 5 + 0.03 * k, -0.1 * k);
  }
  auto const stacks = program.stacks();
  REQUIRE(stacks.size() == 1);
  auto const offsets = finish::measure_offsets(stacks.front(), 0.001);
  REQUIRE_FALSE(offsets);
  CHECK(offsets.error().find("the 2 contours of its levels stand on different surfaces") == 0);
}
