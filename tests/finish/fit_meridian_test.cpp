#include "finish/fit_meridian.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <random>
#include <vector>

using namespace restep;
using finish::fit_meridian;
using geometry::Vec2;

namespace {

// Levels at constant stepdown of a round of tip radius rho that runs tangentially into a wall of the given
// draft, and from there tangentially into a fillet of tip radius `fillet` (0: none). All from the part's own
// geometry.
struct Profile {
  double rho, draft_degrees, wall, fillet;

  std::vector<Vec2> levels(double first, double stepdown, double digits) const {
    double const t = geometry::radians(draft_degrees);
    Vec2 const end_of_round{rho * std::cos(t), rho * std::sin(t)};
    Vec2 const along{std::sin(t), -std::cos(t)};
    Vec2 const end_of_wall = end_of_round + wall * along;
    Vec2 const fillet_centre = end_of_wall + fillet * Vec2{std::cos(t), std::sin(t)};
    double const bottom = fillet > 0 ? fillet_centre.y - fillet : end_of_wall.y;
    std::vector<Vec2> points;
    for (double z = rho - first; z >= bottom - 1e-9; z -= stepdown) {
      double d = 0;
      if (z > end_of_round.y)
        d = std::sqrt(rho * rho - z * z);
      else if (z > end_of_wall.y)
        d = end_of_round.x + (end_of_round.y - z) * std::tan(t);
      else
        d = fillet_centre.x -
            std::sqrt(std::max(0.0, fillet * fillet - (z - fillet_centre.y) * (z - fillet_centre.y)));
      points.push_back({digits > 0 ? std::round(d / digits) * digits : d,
                        digits > 0 ? std::round(z / digits) * digits : z});
    }
    return points;
  }
};

} // namespace

TEST_CASE("an exact round with a drafted wall is found as one arc and one line that touch", "[finish]") {
  auto const fit = fit_meridian(Profile{1.8, 3, 5, 0}.levels(0.1, 0.1, 0), 0.0003);
  REQUIRE(fit);
  REQUIRE(fit->in_one_piece());
  auto const surfaces = fit->sections[0].meridian.surfaces(0.3);
  REQUIRE(surfaces.size() == 2);
  CHECK(surfaces[0].kind == cutter::SurfaceKind::convex_round);
  CHECK(surfaces[0].radius == Approx(1.5).margin(1e-6));
  CHECK(surfaces[1].kind == cutter::SurfaceKind::plane);
  CHECK(surfaces[1].angle == Approx(3.0).margin(1e-4));
  CHECK(fit->residual < 1e-7);
}

TEST_CASE("levels rounded to three decimals still give radius, angle and residual within a micrometre",
          "[finish]") {
  auto const fit = fit_meridian(Profile{1.8, 3, 5, 0}.levels(0.1, 0.1, 0.001), 0.001);
  REQUIRE(fit);
  REQUIRE(fit->in_one_piece());
  auto const surfaces = fit->sections[0].meridian.surfaces(0.3);
  REQUIRE(surfaces.size() == 2);
  CHECK(surfaces[0].radius == Approx(1.5).margin(0.001));
  CHECK(surfaces[1].angle == Approx(3.0).margin(0.02));
  CHECK(fit->residual < 0.001);
}

TEST_CASE("round, vertical wall and floor fillet in one stack are three pieces", "[finish]") {
  auto const fit = fit_meridian(Profile{2.5, 0, 3, 2}.levels(0.05, 0.08, 0.0001), 0.0003);
  REQUIRE(fit);
  REQUIRE(fit->in_one_piece());
  auto const surfaces = fit->sections[0].meridian.surfaces(0.5);
  REQUIRE(surfaces.size() == 3);
  CHECK(surfaces[0].kind == cutter::SurfaceKind::convex_round);
  CHECK(surfaces[0].radius == Approx(2.0).margin(0.0005));
  CHECK(surfaces[1].kind == cutter::SurfaceKind::wall);
  CHECK(surfaces[2].kind == cutter::SurfaceKind::concave_fillet);
  CHECK(surfaces[2].radius == Approx(2.5).margin(0.0005));
}

TEST_CASE("a sharp corner between two drafts is an intersection, not a tangent arc", "[finish]") {
  std::vector<Vec2> levels;
  for (int k = 0; k <= 20; ++k)
    levels.push_back({0.1 * k, -0.1 * k});
  for (int k = 1; k <= 20; ++k)
    levels.push_back({2 + 0.01 * k, -2 - 0.1 * k});
  auto const fit = fit_meridian(levels, 0.0003);
  REQUIRE(fit);
  REQUIRE(fit->in_one_piece());
  auto const& pieces = fit->sections[0].meridian.pieces();
  REQUIRE(pieces.size() == 2);
  CHECK(distance(pieces[0].to, Vec2{2, -2}) < 1e-6);
}

TEST_CASE("a ledge between two levels parts the meridian, nothing is invented in between", "[finish]") {
  std::vector<Vec2> levels;
  for (int k = 0; k < 10; ++k)
    levels.push_back({0, -0.1 * k});
  for (int k = 10; k < 20; ++k)
    levels.push_back({0.4, -0.1 * k});
  auto const fit = fit_meridian(levels, 0.0003);
  REQUIRE(fit);
  REQUIRE(fit->sections.size() == 2);
  CHECK(fit->sections[0].last == 9);
  CHECK(fit->sections[1].first == 10);
}

TEST_CASE("levels without any order are explained by nothing", "[finish]") {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> any(0.0, 0.2);
  std::vector<Vec2> levels;
  double d = 0;
  for (int k = 0; k < 12; ++k) {
    d += any(random);
    levels.push_back({d, -0.1 * k});
  }
  auto const fit = fit_meridian(levels, 0.0003);
  REQUIRE_FALSE(fit);
  CHECK(fit.error() == "no line or arc explains three neighbouring levels within 0.3 um");
}

TEST_CASE("scaling the levels scales the fit", "[finish]") {
  auto const levels = Profile{1.8, 3, 5, 3}.levels(0.1, 0.1, 0);
  std::vector<Vec2> doubled;
  for (Vec2 const p : levels)
    doubled.push_back(2 * p);
  auto const one = fit_meridian(levels, 0.0003);
  auto const two = fit_meridian(doubled, 0.0006);
  REQUIRE(one);
  REQUIRE(two);
  REQUIRE(one->in_one_piece());
  REQUIRE(two->in_one_piece());
  CHECK(two->sections[0].meridian.length() == Approx(2 * one->sections[0].meridian.length()).margin(1e-6));
}
