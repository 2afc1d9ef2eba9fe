#include "cuts.hpp"
#include "proof/height_field.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <vector>

/// The height field against closed forms: cusps of two circles (surface-finish reference, formula (1)),
/// cylinder and torus sections by elementary geometry.

using namespace restep;
using geometry::Vec2;
using geometry::Vec3;
using proof::HeightField;
using proof::HeightGrid;
using proof::testing::line;

namespace {

cutter::Underside shape(std::string_view words) {
  return cutter::Underside(cutter::parse_tool(words).value());
}

motion::Step arc(motion::Plane plane, Vec3 from, Vec3 to, Vec3 centre, bool ccw) {
  motion::Step step = line(from, to);
  motion::Motion& m = *motion::motion_of(step);
  m.path = ccw ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw;
  m.plane = plane;
  m.centre = centre;
  return step;
}

// Lines along the direction `angle`, `stepover` apart in plan, over a plane that rises by `along` per mm
// along them and by `across` per mm across.
std::vector<motion::Step> raster(double stepover, double along, double across, double angle) {
  std::vector<motion::Step> steps;
  Vec2 const u{std::cos(angle), std::sin(angle)};
  Vec2 const v = geometry::left_normal(u);
  int const lines = static_cast<int>(8 / stepover); // to either side
  for (int k = -lines; k <= lines; ++k) {
    double const off = k * stepover;
    auto const tip = [&](double a) { return geometry::at_height(a * u + off * v, along * a + across * off); };
    steps.push_back(line(tip(-10), tip(10)));
  }
  return steps;
}

// Highest and lowest stand above the plane within the middle of the field, along its normal.
struct Relief {
  double low = 1e9, high = -1e9;
};
Relief relief(HeightField const& field, double along, double across, double angle) {
  Relief found;
  Vec2 const u{std::cos(angle), std::sin(angle)};
  double const normal = 1 / std::sqrt(1 + along * along + across * across);
  for (std::size_t r = 0; r < field.grid().rows; ++r)
    for (std::size_t c = 0; c < field.grid().columns; ++c) {
      Vec2 const p = field.grid().place(c, r);
      double const plane = along * dot(p, u) + across * dot(p, geometry::left_normal(u));
      double const above = normal * (field.height(c, r) - plane);
      found.low = std::min(found.low, above);
      found.high = std::max(found.high, above);
    }
  return found;
}

} // namespace

TEST_CASE("a ball raster on a plane of any slope leaves the cusp of two circles", "[proof]") {
  // The ball touches the plane r (1/cos - 1) above the plane of the tips, measured straight up; the distance
  // of the contacts along the plane, normal to the cut, is the stepover times what the slope across
  // stretches.
  double const r = 3;
  double const stepover = 0.5;
  for (auto const& [along, across] : {std::pair{0.0, 0.0}, {0.0, 0.8}, {0.6, 0.0}, {-0.5, 0.7}}) {
    for (double const angle : {0.0, 30 * std::numbers::pi / 180}) {
      double const s = stepover * std::sqrt(1 + across * across / (1 + along * along));
      double const cusp = r - std::sqrt(r * r - s * s / 4);
      double const normal = 1 / std::sqrt(1 + along * along + across * across);
      // Tip plane to ball centre plane is r up; to the surface r along the normal back down.
      double const valley = r * normal - r;
      HeightField field(HeightGrid::over({-1, -1.001}, {1, 1}, {0.5, 0.002}, angle), 50);
      field.cut(raster(stepover, along, across, angle), shape("ball 6"));
      Relief const found = relief(field, along, across, angle);
      INFO("along " << along << " across " << across << " angle " << angle);
      CHECK(found.low == Approx(valley).margin(1e-6));
      CHECK(found.high - found.low == Approx(cusp).margin(0.00018)); // half a cell of the flank
      CHECK(found.high - found.low <= cusp + 1e-9);
    }
  }
}

TEST_CASE("a bull leaves no cusp on a floor and that of its corner on a slope across the lines", "[proof]") {
  HeightField floor(HeightGrid::over({-1, -1}, {1, 1}, {0.5, 0.01}), 5);
  floor.cut(raster(0.5, 0, 0, 0), shape("bull 6 r0.5"));
  Relief const flat = relief(floor, 0, 0, 0);
  CHECK(flat.high == 0);
  CHECK(flat.low == 0);

  // Lines at constant height: the section is the tool's own meridian, formula (1) with the corner radius.
  HeightField slope(HeightGrid::over({-1, -1}, {1, 1}, {0.5, 0.001}), 50);
  slope.cut(raster(0.2, 0, 1, 0), shape("bull 6 r0.5"));
  Relief const found = relief(slope, 0, 1, 0);
  double const s = 0.2 * std::sqrt(2.0);
  CHECK(found.high - found.low == Approx(0.5 - std::sqrt(0.25 - s * s / 4)).margin(0.0002));
}

TEST_CASE("an arc at constant height is cut as an arc", "[proof]") {
  HeightField field(HeightGrid::over({-6, -6}, {6, 6}, {0.25, 0.25}), 9);
  std::vector<motion::Step> const half{arc(motion::Plane::xy, {4, 0, 1}, {-4, 0, 1}, {0, 0, 1}, true)};
  field.cut(half, shape("ball 2"));
  for (std::size_t r = 0; r < field.grid().rows; ++r)
    for (std::size_t c = 0; c < field.grid().columns; ++c) {
      Vec2 const p = field.grid().place(c, r);
      double const away = p.y >= 0 ? std::abs(length(p) - 4)
                                   : std::min(geometry::distance(p, {4, 0}), geometry::distance(p, {-4, 0}));
      if (std::abs(away - 1) < 1e-9) continue; // the widest place of the ball, to either side of it
      double const want = away < 1 ? 2 - std::sqrt(1 - away * away) : 9.0;
      CHECK(field.height(c, r) == Approx(want).margin(1e-9));
    }
}

TEST_CASE("an arc in a vertical plane leaves the torus it sweeps", "[proof]") {
  // Over the crown of radius 10 in the plane of Z and X (G18) the ball's centre runs on a circle of 13.
  for (bool const ccw : {false, true}) {
    Vec3 const left{-8, 0, std::sqrt(169.0 - 64) - 3};
    Vec3 const right{8, 0, left.z};
    // Counter-clockwise from Z towards X: over the top from left to right.
    std::vector<motion::Step> const over{
        arc(motion::Plane::zx, ccw ? left : right, ccw ? right : left, {0, 0, -3}, ccw)};
    HeightField field(HeightGrid::over({-4, -1}, {4, 1}, {0.5, 0.25}), 50);
    field.cut(over, shape("ball 6"));
    for (std::size_t r = 0; r < field.grid().rows; ++r)
      for (std::size_t c = 0; c < field.grid().columns; ++c) {
        Vec2 const p = field.grid().place(c, r);
        double const tube = 13 - std::sqrt(9 - p.y * p.y); // inner radius of the torus at this y
        CHECK(field.height(c, r) == Approx(std::sqrt(tube * tube - p.x * p.x)).margin(3e-5));
      }
  }
}

TEST_CASE("cutting in one band or many, in any order, twice or once leaves the same field", "[proof]") {
  std::vector<motion::Step> steps = raster(0.3, 0.2, -0.4, 0.5);
  for (int i = 0; i < 200; ++i) {
    double const t = 0.03 * i;
    steps.push_back(line({std::cos(t), std::sin(t), 0.5}, {std::cos(t + 0.03), std::sin(t + 0.03), 0.4}));
  }
  HeightGrid const grid = HeightGrid::over({-3, -3}, {3, 3}, {0.05, 0.05});
  HeightField once(grid, 9), one_by_one(grid, 9), backwards(grid, 9);
  once.cut(steps, shape("bull 3 r0.3"));
  once.cut(steps, shape("bull 3 r0.3"));
  for (std::size_t i = 0; i < steps.size(); ++i)
    one_by_one.cut({&steps[i], 1}, shape("bull 3 r0.3"));
  std::vector<motion::Step> const turned(steps.rbegin(), steps.rend());
  backwards.cut(turned, shape("bull 3 r0.3"));
  for (std::size_t r = 0; r < grid.rows; ++r)
    for (std::size_t c = 0; c < grid.columns; ++c) {
      REQUIRE(once.height(c, r) == one_by_one.height(c, r));
      REQUIRE(once.height(c, r) == backwards.height(c, r));
    }
}

TEST_CASE("a plunge and a rapid cut as well, a motion from nowhere does not", "[proof]") {
  HeightField field(HeightGrid::over({-1, -1}, {1, 1}, {0.5, 0.5}), 3);
  motion::Step plunge = line({0, 0, 5}, {0, 0, 1});
  motion::motion_of(plunge)->path = motion::PathKind::rapid;
  motion::Step const unknown = line(motion::unknown_position, {0, 0, -9});
  std::vector<motion::Step> const steps{plunge, unknown};
  field.cut(steps, shape("flat 1"));
  CHECK(field.height(2, 2) == 1);
  CHECK(field.height(1, 2) == 1);
  CHECK(field.height(0, 2) == 3);
}
