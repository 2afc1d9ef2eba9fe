#include "cuts.hpp"
#include "proof/region_model.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>
#include <rapidcheck/catch.h>
#include <vector>

/// What a new path cuts outside of the program's own, against elementary geometry: the depth of a slot, and
/// the law that a path moved by less than a skin's thickness stays within the skin.

using namespace restep;
using geometry::Vec3;
using proof::testing::line;

namespace {

cutter::Tool tool(std::string_view words) {
  return cutter::parse_tool(words).value();
}

/// A square of 20 mm in three levels with stay-down moves between them.
std::vector<motion::Step> square(Vec3 shift = {}) {
  std::vector<motion::Step> steps;
  Vec3 last = shift;
  auto const go = [&](double x, double y, double z) {
    Vec3 const to = Vec3{x, y, z} + shift;
    steps.push_back(line(last, to));
    last = to;
  };
  for (double const z : {0.0, -0.5, -1.0}) {
    go(0, 0, z);
    go(20, 0, z);
    go(20, 20, z);
    go(0, 20, z);
    go(0, 0, z);
  }
  return steps;
}

} // namespace

TEST_CASE("a path cuts nothing outside of itself, whatever the tool", "[region]") {
  for (std::string_view const words : {"flat 3", "ball 2", "bull 3 r0.3"}) {
    INFO(words);
    auto const measure = proof::measure_region(square(), square(), tool(words), 0, 0);
    CHECK(measure.beyond.value < 1e-9);
    CHECK(measure.points > 1000);
  }
}

TEST_CASE("a link across the middle that the program never cut is found at its depth", "[region]") {
  auto after = square();
  after.push_back(line({0, 10, -0.7}, {20, 10, -0.7}));
  auto const measure = proof::measure_region(square(), after, tool("flat 3"), 0.02, 0.0);
  CHECK(measure.beyond.value == Approx(0.7));
  CHECK(measure.beyond.at.y == Approx(10).margin(1.5));
  CHECK(measure.beyond.at.z == Approx(-0.7));
}

TEST_CASE("what is cut above the given height is not compared", "[region]") {
  auto after = square();
  after.push_back(line({0, 10, -0.7}, {20, 10, -0.7}));
  CHECK(proof::measure_region(square(), after, tool("flat 3"), 0.02, -0.7).beyond.value < 1e-9);
}

TEST_CASE(
    "a path moved by less than the skin stays within it; farther down by more than the skin it does not",
    "[region]") {
  for (std::string_view const words : {"ball 2", "bull 3 r0.3", "flat 3"}) {
    INFO(words);
    rc::prop("", [&] {
      double const turn = restep::property::draw(0, 3600) * std::numbers::pi / 1800;
      double const tilt = (restep::property::draw(-900, 900)) * std::numbers::pi / 1800;
      double const far = restep::property::draw(1, 49) / 1000.0;
      Vec3 const shift{far * std::cos(tilt) * std::cos(turn), far * std::cos(tilt) * std::sin(turn),
                       far * std::sin(tilt)};
      auto const within = proof::measure_region(square(), square(shift), tool(words), 0.05, 0.2);
      RC_ASSERT(within.beyond.value < 1e-9);
      auto const below = proof::measure_region(square(), square({0, 0, -0.05 - far}), tool(words), 0.05, 0.2);
      RC_ASSERT(std::abs(below.beyond.value - far) < 1e-6);
    });
  }
}
