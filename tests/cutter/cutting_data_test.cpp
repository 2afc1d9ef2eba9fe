#include "cutter/cutting_data.hpp"
#include "shapes.hpp"

#include <catch2/catch.hpp>

using namespace restep::cutter;
using Catch::Matchers::WithinAbs;
using restep::cutter::shapes::end_mill;

TEST_CASE("cutting speed, spindle speed and feed belong together") {
  // Case 48: vc 120, D 6, z 4, fz 0.03; capped spindle, then capped feed.
  double const n = spindle_speed(120, 6);
  CHECK_THAT(n, WithinAbs(6366.20, 5e-3));
  CHECK_THAT(table_feed(n, 4, 0.03), WithinAbs(763.944, 5e-4));
  CHECK_THAT(table_feed(5000, 4, 0.03), WithinAbs(600, 1e-9));
  CHECK_THAT(cutting_speed(6, 5000), WithinAbs(94.2478, 5e-5));
  CHECK_THAT(feed_per_tooth(400, 5000, 4), WithinAbs(0.02, 1e-12));
}

TEST_CASE("the printed milling examples come out") {
  // Case 49, Mitsubishi Materials, Formulas for milling: D 125, n 350; vf 500, z 10, n 500.
  CHECK_THAT(cutting_speed(125, 350), WithinAbs(137.445, 5e-4));
  CHECK(feed_per_tooth(500, 500, 10) == Approx(0.1));
}

TEST_CASE("a ball cuts on a small diameter at a small depth") {
  CHECK_THAT(effective_diameter(end_mill(3, 6), 0.1), WithinAbs(1.53623, 5e-6)); // case 50
  CHECK_THAT(effective_diameter_tilted(end_mill(3, 6), 0.1, 15), WithinAbs(2.98503, 5e-6));
  // Case 51: catalogue (Tooling Solutions Vol. 1, 2024), in inches: D 0.5, ap 0.020, printed 0.196.
  CHECK_THAT(effective_diameter(end_mill(0.25, 0.5), 0.020), WithinAbs(0.196, 5e-4));
  // The same catalogue's mm rows, D and ap.
  CHECK_THAT(effective_diameter(end_mill(10, 20), 3), WithinAbs(14.3, 0.05));
  CHECK_THAT(effective_diameter(end_mill(5, 10), 0.5), WithinAbs(4.4, 0.05));
}

TEST_CASE("a bull cuts on its flat and a part of its corner") {
  Tool const bull = end_mill(0.5, 6); // case 52
  CHECK_THAT(effective_diameter(bull, 0.1), WithinAbs(5.6, 5e-7));
  CHECK_THAT(corner_thinning(bull, 0.1), WithinAbs(0.6, 5e-7));
  CHECK(effective_diameter(bull, 2) == 6);
  CHECK(effective_diameter(end_mill(0, 6), 0.1) == 6);
  CHECK(corner_thinning(end_mill(0, 6), 0.1) == 1);
  CHECK(generating_diameter(end_mill(3, 6), 0) == 0);
  CHECK(generating_diameter(bull, 90) == Approx(6));
}

TEST_CASE("a narrow cut makes a thin chip") {
  // Case 53, formula (37): D 6, ae 0.1; fz for a chip of 0.03.
  CHECK_THAT(chip_thinning(6, 0.1), WithinAbs(0.256038, 5e-7));
  CHECK_THAT(mean_chip(6, 0.1), WithinAbs(0.128739, 5e-7));
  CHECK_THAT(0.03 / chip_thinning(6, 0.1), WithinAbs(0.117170, 5e-7));
  CHECK(chip_thinning(6, 3) == 1);
  CHECK(chip_thinning(6, 6) == 1);
}

TEST_CASE("the tool centre is slower inside a bore and faster round a boss") {
  // Case 54, formulas (38) and (39): Rw 10, Rt 3, e 0.1.
  CHECK(arc_feed_factor(10, 3, true) == Approx(0.7));
  CHECK(arc_feed_factor(10, 3, false) == Approx(1.3));
  CHECK_THAT(width_on_arc(10, 3, 0.1, true), WithinAbs(0.142143, 5e-7));
  CHECK_THAT(width_on_arc(10, 3, 0.1, false), WithinAbs(0.0773077, 5e-8));
}
