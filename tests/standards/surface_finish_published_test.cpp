// Figures printed by tool makers and in papers, against the closed forms that the program plans with. The
// numbered check cases stand beside the functions they belong to, in the tests of cutter and geometry.

#include "cutter/cusp.hpp"
#include "cutter/cutting_data.hpp"
#include "cutter/finish_target.hpp"
#include "cutter/marks.hpp"
#include "cutter/step_solver.hpp"
#include "dialect/arc_digits.hpp"

#include <catch2/catch.hpp>

#include <cmath>

using namespace restep::cutter;
using Catch::Matchers::WithinAbs;

namespace {

Tool mill(double diameter, double corner_radius) {
  Tool tool;
  tool.diameter = diameter;
  tool.corner_radius = corner_radius;
  tool.kind = corner_radius == 0              ? ToolKind::flat
              : corner_radius * 2 == diameter ? ToolKind::ball
                                              : ToolKind::bull;
  return tool;
}

Meridian slope(double theta, double height) {
  Piece piece;
  double const a = restep::geometry::radians(theta);
  piece.to = {height / std::tan(a), -height};
  return Meridian({piece});
}

} // namespace

TEST_CASE("the largest feeds for 8 um of a turning nose are the printed ones") {
  // Sandvik Coromant, heat-resistant-alloy guide, p. 19: Rmax 8.0 um; their rounding, 0.012 mm per turn.
  double const rows[][2] = {{0.4, 0.17}, {0.8, 0.22}, {1.2, 0.27}, {1.6, 0.32},
                            {4, 0.50},   {5, 0.57},   {6, 0.62}};
  for (auto const& [nose, feed] : rows) {
    double low = 0, high = nose;
    for (int i = 0; i < 60; ++i) {
      double const middle = (low + high) / 2;
      (feed_mark_height(nose, middle) > 0.008 ? high : low) = middle;
    }
    CHECK_THAT(low, WithinAbs(feed, 0.012));
  }
}

TEST_CASE("a sloped layer of an adaptive slicer is the step of a ball of the same radius") {
  // P. de Jager, mailing-list note, 7 March 1997: theta 60, R 2, delta 0.2: d = 2 cos(theta) sqrt(2 delta R -
  // delta^2), printed 0.88, the formula gives 0.871780. His theta is measured from the vertical.
  auto const s = march_levels(slope(30, 3), mill(4, 2), {FinishKind::cusp, 0.2, ""}, {});
  REQUIRE(s.size() > 2);
  Meridian const m = slope(30, 3);
  double const step = m.at(s[0]).y - m.at(s[1]).y;
  CHECK_THAT(step, WithinAbs(0.871780, 5e-7));
  CHECK_THAT(step, WithinAbs(0.88, 0.02 * 0.88));
}

TEST_CASE("a sharp end mill steps as Dolenc and Maekelae slice") {
  // Comput.-Aided Des. 26(2), 1994: layer = cusp / |n_z|.
  for (double const theta : {10.0, 45.0, 80.0}) {
    Meridian const m = slope(theta, 1);
    auto const s = march_levels(m, mill(6, 0), {FinishKind::cusp, 0.01, ""}, {});
    double const nz = std::cos(restep::geometry::radians(theta));
    CHECK(m.at(s[0]).y - m.at(s[1]).y == Approx(0.01 / nz).epsilon(1e-9));
  }
}

TEST_CASE("effective diameters of ball mills are the printed ones") {
  // Dapra ball-nose table, in inches, three decimals: D, ap, De.
  double const inch[][3] = {
      {0.5, 0.010, 0.140}, {0.5, 0.100, 0.400}, {0.375, 0.025, 0.187}, {1, 0.050, 0.436}};
  for (auto const& [d, ap, de] : inch)
    CHECK_THAT(effective_diameter(mill(d, d / 2), ap), WithinAbs(de, 5e-4));
  // Tooling Solutions Vol. 1, 2024, finishing ball mills, mm.
  double const mm[][3] = {{20, 3, 14.3}, {25, 4, 18.3}, {32, 5, 23.2}, {10, 0.5, 4.4}};
  for (auto const& [d, ap, de] : mm)
    CHECK_THAT(effective_diameter(mill(d, d / 2), ap), WithinAbs(de, 0.05));
  // The worked example of the same catalogue, check case 51: 2 sqrt(0.020 (0.500 - 0.020)) = 0.196 in.
  double const worked = effective_diameter(mill(0.5, 0.25), 0.020);
  CHECK_THAT(worked, WithinAbs(0.196, 5e-4));
  CHECK_THAT(worked, WithinAbs(0.195959, 5e-7));
}

TEST_CASE("an arc takes as many chords as its sagitta asks for") {
  // Check case 65: radius 5, sagitta 0.005: each chord turns by 5.12512 degrees.
  using restep::geometry::radians;
  for (int const chords : {1, 10, 50}) {
    CHECK(restep::dialect::chords_needed(5, radians(5.12511 * chords), 0.005) == chords);
    CHECK(restep::dialect::chords_needed(5, radians(5.12513 * chords), 0.005) == chords + 1);
  }
}

TEST_CASE("feed factors of ball mills are the printed ones") {
  // Dapra: D/De for D 1/2, ap 0.005: 5.0; D 1, ap 0.050: 2.3.
  CHECK_THAT(0.5 / effective_diameter(mill(0.5, 0.25), 0.005), WithinAbs(5.0, 0.05));
  CHECK_THAT(1 / effective_diameter(mill(1, 0.5), 0.050), WithinAbs(2.3, 0.05));
}

TEST_CASE("lead angles of round corners thin the chip as printed") {
  // Sandvik Coromant, heat-resistant-alloy guide, p. 19: ap over insert diameter, 1/sin kappa.
  double const rows[][3] = {
      {0.25, 1.16, 5e-3 + 1e-2}, {0.2, 1.25, 5e-3}, {0.15, 1.4, 5e-2}, {0.1, 1.66, 1e-2}, {0.05, 2.3, 5e-2}};
  for (auto const& [share, factor, tolerance] : rows)
    CHECK_THAT(1 / corner_thinning(mill(20, 5), share * 10), WithinAbs(factor, tolerance));
}

TEST_CASE("the printed spindle speed and feed of a face mill come out") {
  // WIDIA: vc 200, D 125, z 8, fz 0.2: n 510 (509.296 unrounded), vf 816 with the rounded n.
  CHECK_THAT(spindle_speed(200, 125), WithinAbs(509.296, 5e-4));
  CHECK_THAT(table_feed(510, 8, 0.2), WithinAbs(816, 1e-9));
}

TEST_CASE("grade N5 on a plane is the cusp of its theoretical Ra") {
  // ISO 1302:1992: N5 = 0.4 um; parabolic cusp 3.897114 Ra = 1.55885 um;
  // an arc of radius 1 with s/r = 0.11 is flatter than its parabola by 2e-4, formula (28).
  auto const grade = parse_finish("N5");
  REQUIRE(grade);
  Meridian const m = slope(45, 1);
  Tool const tool = mill(6, 1);
  auto const s = march_levels(m, tool, *grade, {});
  CHECK(cusp_height(tool, m, m.at(s[0]), m.at(s[1])) == Approx(1.55885e-3).epsilon(2e-4));
}
