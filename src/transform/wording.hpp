#pragma once

#include "geometry/vec.hpp"
#include "motion/step.hpp"

#include <string>

/// Values in words for the operator: in the units the program is written in, with the digits that matter.
namespace restep::transform {

/// "12.5 mm", "0.25 inch"; `mm` is a length or coordinate.
std::string length_words(double mm, motion::Units units);

/// "1200 mm/min", "47.244 inch/min"; `mm_per_minute` is a speed.
std::string speed_words(double mm_per_minute, motion::Units units);

/// A feed as its mode counts it: "F1200 mm/min", "F0.05 mm/rev", "F2 per minute (inverse time)".
std::string feed_words(double feed, motion::FeedMode mode, motion::Units units);

/// "S8000 rpm"
std::string spindle_words(double rpm);

/// The known coordinates of X and Y: "X10 Y-2.5".
std::string place_words(geometry::Vec3 point, motion::Units units);

/// The largest value not above `value` that `digit` (mm, or inch by units; plain for inverse time) can say.
/// A feed too small for the digits stays as it is.
double rounded_down(double feed, motion::FeedMode mode, motion::Units units, double digit);

} // namespace restep::transform
