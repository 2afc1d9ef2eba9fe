// A line fitted to a certified data set, and cusps of tapered tools, against figures and closed forms from
// outside.

#include "cutter/cusp.hpp"
#include "geometry/fit.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <vector>

using namespace restep;
using Catch::Matchers::WithinAbs;

namespace {

constexpr double quarter = 90; // degrees

/// What a drafted wall's levels leave on it, mm. By elementary trigonometry: a tool with a sharp corner
/// leaves triangles whose tips stand dz (tan draft - tan taper) cos draft off the wall; rounding the corner
/// takes from that what the sharp one would stand out towards the wall.
double left_on_wall(double dz, double draft, double taper, double corner_radius) {
  using geometry::radians;
  double const sharp = dz * (std::tan(radians(draft)) - std::tan(radians(taper))) * std::cos(radians(draft));
  double const half = radians((quarter - taper) / 2); // between the bisector of the corner and its sides
  double const out = corner_radius * (std::cos(radians(quarter - draft) - half) / std::cos(half) - 1);
  return sharp - out;
}

cutter::Meridian wall(double draft, double height) {
  cutter::Piece piece;
  piece.to = {height * std::tan(geometry::radians(draft)), -height};
  return cutter::Meridian({piece});
}

cutter::Tool bull(double diameter, double corner_radius, double taper) {
  cutter::Tool tool;
  tool.diameter = diameter;
  tool.corner_radius = corner_radius;
  tool.kind = cutter::ToolKind::bull;
  tool.taper = taper;
  return tool;
}

} // namespace

TEST_CASE("the line through a certified data set is the one that its certified figures give") {
  // Case 57: NIST StRD, Norris: y = b0 + b1 x with b0 -0.262323073774029, b1 1.00211681802045, residual
  // standard deviation 0.884796396144373 on 34 degrees of freedom. Pearson's line through the same points has
  // the same centroid, and its slope follows from b1 and the two sums of squares.
  constexpr double b0 = -0.262323073774029, b1 = 1.00211681802045, deviation = 0.884796396144373;
  std::vector<geometry::Vec2> const points = {
      {.2, .1},       {337.4, 338.8}, {118.2, 118.1}, {884.6, 888.0}, {10.1, 9.2},    {226.5, 228.1},
      {666.3, 668.5}, {996.3, 998.5}, {448.6, 449.1}, {777.0, 778.9}, {558.2, 559.2}, {.4, .3},
      {.6, .1},       {775.5, 778.1}, {666.9, 668.8}, {338.0, 339.3}, {447.5, 448.9}, {11.6, 10.8},
      {556.0, 557.7}, {228.1, 228.3}, {995.8, 998.0}, {887.6, 888.8}, {120.2, 119.6}, {.3, .3},
      {.3, .6},       {556.8, 557.6}, {339.1, 339.3}, {887.2, 888.0}, {999.0, 998.5}, {779.0, 778.9},
      {11.1, 10.2},   {118.3, 117.6}, {229.2, 228.9}, {669.1, 668.4}, {448.9, 449.2}, {.5, .2}};
  REQUIRE(points.size() == 36);
  double mean = 0, spread = 0;
  for (geometry::Vec2 const p : points)
    mean += p.x / 36;
  for (geometry::Vec2 const p : points)
    spread += (p.x - mean) * (p.x - mean);
  // With the sums over x as the unit: of y b1^2 + 34 s^2 / spread, of both b1.
  double const difference = b1 * b1 + 34 * deviation * deviation / spread - 1;
  double const slope = (difference + std::sqrt(difference * difference + 4 * b1 * b1)) / (2 * b1);
  auto const fit = geometry::fit_line(points);
  REQUIRE(fit);
  CHECK_THAT(fit->through.y - b1 * fit->through.x, WithinAbs(b0, 1e-11));
  CHECK_THAT(fit->direction.y / fit->direction.x, WithinAbs(slope, 5e-13));
}

TEST_CASE("a tapered tool leaves on a drafted wall what the tangents of both angles differ by") {
  // A wall of taper 7:24 (ISO 297: half angle 8 deg 17 min 50 s, 3.5 in 24 to a side, to half a second).
  constexpr double draft = 8 + 17 / 60.0 + 50 / 3600.0;
  CHECK_THAT(std::tan(geometry::radians(draft)), WithinAbs(3.5 / 24, 3e-6));
  for (double const taper : {0.0, 1.0, 3.0, 5.0})
    for (double const dz : {1.0, 2.0, 4.0}) {
      INFO(taper << " " << dz);
      auto const surface = wall(draft, dz);
      CHECK_THAT(
          cutter::cusp_height(bull(10, 0.02, taper), surface, surface.at(0), surface.at(surface.length())),
          WithinAbs(left_on_wall(dz, draft, taper, 0.02), 1e-9));
    }
}

TEST_CASE("a tapered tool leaves nothing on a wall of its own draft") {
  auto const surface = wall(3, 2);
  CHECK_THAT(cutter::cusp_height(bull(10, 0.5, 3), surface, surface.at(0), surface.at(surface.length())),
             WithinAbs(0, 1e-9));
}
