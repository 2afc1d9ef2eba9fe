#include "cutter/marks.hpp"
#include "shapes.hpp"

#include <catch2/catch.hpp>

using namespace restep::cutter;
using Catch::Matchers::WithinAbs;
using restep::cutter::shapes::end_mill;

TEST_CASE("a feed of 0.12 per tooth leaves 0.600060 um on a radius of 3") {
  CHECK_THAT(feed_mark_height(3, 0.12), WithinAbs(0.600060e-3, 5e-10)); // case 43, formula (31), two ways
}

TEST_CASE("turning with 0.2 per turn and a nose of 0.8 leaves 6.27461 um") {
  CHECK_THAT(feed_mark_height(0.8, 0.2), WithinAbs(6.27461e-3, 5e-9)); // case 38; f^2/8r prints 6.25
}

TEST_CASE("run-out raises the marks until one tooth alone makes them") {
  // Case 44, formula (33): R 3, fz 0.1, e 0.001, two teeth.
  CHECK_THAT(runout_mark_height(3, 0.1, 2, 0.001), WithinAbs(1.06667e-3, 5e-9));
  CHECK_THAT(runout_limit(3, 0.1), WithinAbs(0.00166667, 5e-9));
  double const limit = runout_limit(3, 0.1);
  CHECK(runout_mark_height(3, 0.1, 2, limit * (1 - 1e-9)) == Approx(runout_mark_height(3, 0.1, 2, limit)));
  CHECK(runout_mark_height(3, 0.1, 2, 1) == Approx(4 * runout_mark_height(3, 0.1, 2, 0)));
}

TEST_CASE("a conventional cut leaves lower marks than a climb cut") {
  // Case 45, Martellotti 1941 (formula from memory), checked on the exact trochoid.
  CHECK_THAT(trochoid_mark_height(5, 0.05, 4, CutDirection::conventional), WithinAbs(0.0617142e-3, 5e-11));
  CHECK_THAT(trochoid_mark_height(5, 0.05, 4, CutDirection::climb), WithinAbs(0.0633060e-3, 5e-11));
}

TEST_CASE("on a slope the marks are drawn by a larger radius") {
  // Case 46, formula (32): Rt 3, r 0.5, theta 45, f 0.12; the height of the exact torus within 5e-4.
  double const radius = feed_mark_radius(end_mill(0.5, 6), 45);
  CHECK_THAT(radius, WithinAbs(4.03553, 5e-6));
  CHECK(feed_mark_height(radius, 0.12) == Approx(0.446038e-3).epsilon(5e-4));
  CHECK(feed_mark_radius(end_mill(0.5, 6), 90) == Approx(3));
  CHECK(feed_mark_height(feed_mark_radius(end_mill(0.5, 6), 0), 0.12) == 0);
  CHECK(feed_mark_radius(end_mill(3, 6), 0) == 3);
}

TEST_CASE("a bore gives its marks a larger radius than a boss") {
  CHECK(feed_mark_radius_on_contour(3, 6, true) == Approx(6));
  CHECK(feed_mark_radius_on_contour(3, 6, false) == Approx(2));
  CHECK(feed_mark_height(feed_mark_radius_on_contour(3, 3, true), 0.1) == 0);
}

TEST_CASE("a feed that climbs the slope cuts with a larger corner") {
  CHECK_THAT(effective_corner_radius(end_mill(0.5, 6), 45, 30), WithinAbs(1.38388, 5e-6)); // case 47
  CHECK(effective_corner_radius(end_mill(0.5, 6), 45, 0) == 0.5);
}
