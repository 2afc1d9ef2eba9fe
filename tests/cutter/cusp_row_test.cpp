// What a row of levels leaves, each of which may stand off the surface by what its digits are worth.

#include "cutter/cusp.hpp"
#include "cutter/cusp_row.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

using namespace restep::cutter;

namespace {

Tool tool_of(char const* text) {
  return parse_tool(text).value();
}

// A plane that falls at an angle from horizontal, 10 mm along it.
Meridian plane_at(double slope) {
  Piece piece;
  piece.from = {0, 0};
  piece.to = {10 * std::cos(slope), -10 * std::sin(slope)};
  return Meridian({piece});
}

// Tips a step apart along a plane, each off it by up to `scatter`.
std::vector<Vec2> tips_on(Meridian const& meridian, double step, double scatter, std::mt19937& random) {
  std::uniform_real_distribution<double> off(-scatter, scatter);
  std::vector<Vec2> tips;
  Vec2 const normal = restep::geometry::left_normal(meridian.tangent(0));
  for (int k = 0; k < 40; ++k)
    tips.push_back(meridian.at(0.5 + k * step) + off(random) * normal);
  return tips;
}

CuspRow row_of(Tool const& tool, Meridian const& meridian, std::vector<Vec2> const& tips) {
  CuspRow row(tool, meridian);
  for (Vec2 const tip : tips)
    row.add(tip);
  return row;
}

double largest(CuspRow const& row) {
  double worst = 0;
  for (CuspRow::Peak const& peak : row.peaks())
    worst = std::max(worst, peak.cusp);
  return worst;
}

// The same for a ball, by looking at the lowest of all its circles at many places along the plane: peaks are
// measured from the mean of the lowest places on either side.
double looked_at(double radius, Meridian const& meridian, std::vector<Vec2> const& tips) {
  Vec2 const along = meridian.tangent(0);
  Vec2 const normal = restep::geometry::left_normal(along);
  std::vector<Vec2> centres; // along the plane, off it
  for (Vec2 const tip : tips)
    centres.push_back({dot(tip, along), dot(tip, normal) + radius});
  std::vector<double> heights;
  for (double x = centres.front().x; x <= centres.back().x; x += 2e-5) {
    double lowest = 1e9;
    for (Vec2 const c : centres)
      if (std::abs(x - c.x) < radius)
        lowest = std::min(lowest, c.y - std::sqrt(radius * radius - (x - c.x) * (x - c.x)));
    heights.push_back(lowest);
  }
  double worst = 0;
  double valley = heights.front();
  double peak = 0;
  bool rising = false;
  for (std::size_t i = 1; i < heights.size(); ++i) {
    if (heights[i] < heights[i - 1]) {
      if (rising) peak = heights[i - 1];
      rising = false;
    } else {
      if (!rising && peak != 0) worst = std::max(worst, peak - (valley + heights[i - 1]) / 2);
      if (!rising) valley = heights[i - 1];
      rising = true;
    }
  }
  return worst;
}

} // namespace

TEST_CASE("levels on the surface leave the cusps of their pairs", "[cusp_row]") {
  std::mt19937 random(1);
  for (char const* text : {"ball 3", "bull 4 r0.5", "flat 6"}) {
    Tool const tool = tool_of(text);
    Meridian const meridian = plane_at(0.9);
    auto const tips = tips_on(meridian, 0.05, 0, random);
    auto const peaks = row_of(tool, meridian, tips).peaks();
    REQUIRE(peaks.size() == tips.size() - 1);
    for (std::size_t k = 0; k < peaks.size(); ++k) {
      CHECK(peaks[k].upper == k);
      CHECK(peaks[k].lower == k + 1);
      CHECK(peaks[k].cusp == Approx(cusp_peak_to_valley(tool, meridian, tips[k], tips[k + 1])).margin(1e-12));
    }
  }
}

TEST_CASE("a level that stands off by more than four cusps leaves nothing, and its neighbours meet",
          "[cusp_row]") {
  std::mt19937 random(1);
  Tool const tool = tool_of("ball 3");
  Meridian const meridian = plane_at(1.2);
  auto tips = tips_on(meridian, 0.05, 0, random);
  double const cusp = cusp_height(tool, meridian, tips[0], tips[1]);
  Vec2 const normal = restep::geometry::left_normal(meridian.tangent(0));
  for (double const share : {3.9, 4.1}) {
    auto moved = tips;
    moved[20] = moved[20] + share * cusp * normal;
    auto const peaks = row_of(tool, meridian, moved).peaks();
    CHECK(peaks.size() == tips.size() - (share < 4 ? 1 : 2));
  }
  auto without = tips;
  without.erase(without.begin() + 20);
  auto moved = tips;
  moved[20] = moved[20] + 5 * cusp * normal;
  CHECK(largest(row_of(tool, meridian, moved)) == largest(row_of(tool, meridian, without)));
}

TEST_CASE("the largest cusp of levels that scatter is that of the profile they leave", "[cusp_row]") {
  std::mt19937 random(7);
  Tool const tool = tool_of("ball 3");
  for (double const slope : {0.3, 0.8, 1.4})
    for (double const step : {0.02, 0.04, 0.08})
      for (double const scatter : {0.0002, 0.001, 0.003}) {
        Meridian const meridian = plane_at(slope);
        auto const tips = tips_on(meridian, step, scatter, random);
        INFO("slope " << slope << " step " << step << " scatter " << scatter);
        double const seen = looked_at(1.5, meridian, tips);
        CHECK(largest(row_of(tool, meridian, tips)) == Approx(seen).epsilon(0.002).margin(2e-6));
      }
}
