#include "motion/arc.hpp"

#include <catch2/catch.hpp>

#include <numbers>

using namespace restep::motion;

namespace {

Motion arc(PathKind path, Plane plane, Vec3 from, Vec3 to, Vec3 centre) {
  Motion motion;
  motion.path = path;
  motion.plane = plane;
  motion.from = from;
  motion.to = to;
  motion.centre = centre;
  return motion;
}
using std::numbers::pi;
constexpr auto ccw = PathKind::arc_ccw;
constexpr auto cw = PathKind::arc_cw;

void check_near(Vec3 a, Vec3 b, double margin = 1e-12) {
  for (int axis = 0; axis < 3; ++axis)
    CHECK(a[axis] == Approx(b[axis]).margin(margin));
}

} // namespace

TEST_CASE("Quarter turns are exact") {
  Vec3 const points[] = {{3, 0, 0}, {0, 3, 0}, {-3, 0, 0}, {0, -3, 0}};
  for (int i = 0; i < 4; ++i)
    for (int turns = 1; turns <= 4; ++turns) {
      Vec3 const from = points[i];
      Vec3 const to = points[(i + turns) % 4];
      CHECK(sweep(arc(ccw, Plane::xy, from, to, {})) == turns * (pi / 2));
      CHECK(sweep(arc(cw, Plane::xy, to, from, {})) == turns * (pi / 2));
    }
}

TEST_CASE("The middle of a half turn is exactly on the axis") {
  auto const half = arc(ccw, Plane::xy, {5, 0, 0}, {-5, 0, 0}, {});
  CHECK(point_at(half, 0.5) == Vec3{0, 5, 0});
  CHECK(direction_at(half, 0) == Vec3{0, 1, 0});
  CHECK(direction_at(half, 0.5) == Vec3{-1, 0, 0});
}

TEST_CASE("Fractions 0 and 1 are the ends themselves") {
  auto const odd = arc(ccw, Plane::xy, {1.1, 0.2, 0}, {-0.3, 1.07, 0}, {0.05, 0.01, 0});
  CHECK(point_at(odd, 0) == odd.from);
  CHECK(point_at(odd, 1) == odd.to);
}

TEST_CASE("An end off the circle is reached without a jump") {
  auto const spiral = arc(ccw, Plane::xy, {10, 0, 0}, {0, 10.002, 0}, {});
  check_near(point_at(spiral, 1 - 1e-12), spiral.to, 1e-9);
}

TEST_CASE("A helix has the length of the unrolled line") {
  auto const helix = arc(cw, Plane::xy, {2, 0, 0}, {2, 0, -3}, {});
  CHECK(length(helix) == Approx(std::hypot(4 * pi, 3)).epsilon(1e-14));
  check_near(point_at(helix, 0.25), {0, -2, -0.75});
  CHECK(restep::geometry::length(direction_at(helix, 0.3)) == Approx(1));
}

TEST_CASE("Counter-clockwise is first towards second axis in every plane") {
  check_near(point_at(arc(ccw, Plane::xy, {1, 0, 0}, {-1, 0, 0}, {}), 0.5), {0, 1, 0});
  check_near(point_at(arc(ccw, Plane::zx, {0, 0, 1}, {0, 0, -1}, {}), 0.5), {1, 0, 0});
  check_near(point_at(arc(ccw, Plane::yz, {0, 1, 0}, {0, -1, 0}, {}), 0.5), {0, 0, 1});
}

TEST_CASE("The box of an arc holds its bulges and no more") {
  auto const three_quarters = bounds(arc(ccw, Plane::xy, {5, 0, 1}, {0, -5, 2}, {}));
  CHECK(three_quarters.low == Vec3{-5, -5, 1});
  CHECK(three_quarters.high == Vec3{5, 5, 2});
  auto const quarter = bounds(arc(ccw, Plane::xy, {5, 0, 0}, {0, 5, 0}, {}));
  CHECK(quarter.low == Vec3{0, 0, 0});
  CHECK(quarter.high == Vec3{5, 5, 0});
  auto const full = bounds(arc(cw, Plane::zx, {0, 7, 4}, {0, 7, 4}, {0, 7, 0}));
  CHECK(full.low == Vec3{-4, 7, -4});
  CHECK(full.high == Vec3{4, 7, 4});
}

TEST_CASE("Every point of an arc lies in its box") {
  for (int i = 0; i < 60; ++i) {
    double const a = 0.37 * i;
    double const b = 1.91 * i + 0.2;
    for (auto const path : {cw, ccw})
      for (auto const plane : {Plane::xy, Plane::zx, Plane::yz}) {
        auto const axes = axes_of(plane);
        Vec3 from{1, 2, 3};
        Vec3 to{1, 2, 3};
        Vec3 const centre{1, 2, 3};
        from[axes.first] += 4 * std::cos(a);
        from[axes.second] += 4 * std::sin(a);
        to[axes.first] += 4 * std::cos(b);
        to[axes.second] += 4 * std::sin(b);
        to[axes.normal] += 1;
        auto const motion = arc(path, plane, from, to, centre);
        auto const box = bounds(motion);
        for (int k = 0; k <= 100; ++k) {
          Vec3 const p = point_at(motion, k / 100.0);
          for (int axis = 0; axis < 3; ++axis) {
            REQUIRE(p[axis] >= box.low[axis] - 1e-9);
            REQUIRE(p[axis] <= box.high[axis] + 1e-9);
          }
        }
      }
  }
}

TEST_CASE("A mirrored arc is as long and turns the other way") {
  auto const one = arc(ccw, Plane::xy, {3, 1, 0}, {-2, 2.4494897427831779, 0}, {});
  auto const mirrored = arc(cw, Plane::xy, {-3, 1, 0}, {2, 2.4494897427831779, 0}, {});
  CHECK(sweep(one) == Approx(sweep(mirrored)).epsilon(1e-15));
  CHECK(length(one) == Approx(length(mirrored)).epsilon(1e-15));
}

TEST_CASE("Lines answer the same questions") {
  Motion line;
  line.path = PathKind::line;
  line.from = {0, 0, 0};
  line.to = {3, 4, 12};
  CHECK(length(line) == 13);
  CHECK(point_at(line, 0.5) == Vec3{1.5, 2, 6});
  CHECK(direction_at(line, 0.1) == Vec3{3.0 / 13, 4.0 / 13, 12.0 / 13});
  CHECK(bounds(line).high == Vec3{3, 4, 12});
  line.to = line.from;
  CHECK(direction_at(line, 0.1) == Vec3{});
}
