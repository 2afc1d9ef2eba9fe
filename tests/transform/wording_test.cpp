#include "transform/wording.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using motion::FeedMode;
using motion::Units;

TEST_CASE("values are told in the program's units without zeros at the end", "[wording]") {
  CHECK(length_words(12.5, Units::mm) == "12.5 mm");
  CHECK(length_words(6.35, Units::inch) == "0.25 inch");
  CHECK(length_words(-0.00001, Units::mm) == "0 mm");
  CHECK(speed_words(1200, Units::mm) == "1200 mm/min");
  CHECK(feed_words(0.05, FeedMode::per_revolution, Units::mm) == "F0.05 mm/rev");
  CHECK(feed_words(2, FeedMode::inverse_time, Units::inch) == "F2 per minute (inverse time)");
  CHECK(spindle_words(8000) == "S8000 rpm");
  CHECK(place_words({10, motion::unknown, 3}, Units::mm) == "X10");
}

TEST_CASE("rounding down gives the largest value that F can say", "[wording]") {
  CHECK(rounded_down(707.10678, FeedMode::per_minute, Units::mm, 0.001) == Approx(707.106).epsilon(1e-12));
  CHECK(rounded_down(300, FeedMode::per_minute, Units::mm, 0.001) == Approx(300).epsilon(1e-12));
  CHECK(rounded_down(1000, FeedMode::per_minute, Units::inch, 0.1) == Approx(39.3 * 25.4).epsilon(1e-12));
  CHECK(rounded_down(2.19, FeedMode::inverse_time, Units::inch, 0.1) == Approx(2.1).epsilon(1e-12));
}

TEST_CASE("a value that F can say is not lowered by the noise of a double", "[wording]") {
  for (int thousandths = 1; thousandths < 3000; ++thousandths) {
    double const value = thousandths * 0.001;
    REQUIRE(rounded_down(value, FeedMode::per_minute, Units::mm, 0.001) == Approx(value).epsilon(1e-12));
  }
}

TEST_CASE("a feed too small for the digits stays as it is instead of becoming none", "[wording]") {
  CHECK(rounded_down(0.0004, FeedMode::per_revolution, Units::mm, 0.001) == 0.0004);
}
