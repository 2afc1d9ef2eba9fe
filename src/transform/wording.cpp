#include "transform/wording.hpp"

#include <fmt/format.h>

#include <cmath>

namespace restep::transform {
namespace {

constexpr double mm_per_inch = 25.4;

/// At most `decimals` decimals, without the zeros at the end and without "-0".
std::string number(double value, int decimals) {
  std::string text = fmt::format("{:.{}f}", value, decimals);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

} // namespace

std::string length_words(double mm, motion::Units units) {
  return units == motion::Units::inch ? number(mm / mm_per_inch, 5) + " inch" : number(mm, 4) + " mm";
}

std::string speed_words(double mm_per_minute, motion::Units units) {
  return units == motion::Units::inch ? number(mm_per_minute / mm_per_inch, 3) + " inch/min"
                                      : number(mm_per_minute, 3) + " mm/min";
}

std::string feed_words(double feed, motion::FeedMode mode, motion::Units units) {
  bool const inch = units == motion::Units::inch;
  switch (mode) {
  case motion::FeedMode::per_minute: return "F" + speed_words(feed, units);
  case motion::FeedMode::inverse_time: return "F" + number(feed, 3) + " per minute (inverse time)";
  case motion::FeedMode::per_revolution:
    return inch ? "F" + number(feed / mm_per_inch, 5) + " inch/rev" : "F" + number(feed, 4) + " mm/rev";
  }
  return {};
}

std::string spindle_words(double rpm) {
  return "S" + number(rpm, 1) + " rpm";
}

std::string place_words(geometry::Vec3 point, motion::Units units) {
  bool const inch = units == motion::Units::inch;
  std::string text;
  for (int axis = 0; axis < 2; ++axis) {
    if (!motion::is_known(point[axis])) continue;
    if (!text.empty()) text += ' ';
    text += axis == 0 ? 'X' : 'Y';
    text += inch ? number(point[axis] / mm_per_inch, 5) : number(point[axis], 4);
  }
  return text;
}

double rounded_down(double feed, motion::FeedMode mode, motion::Units units, double digit) {
  double const unit =
      units == motion::Units::inch && mode != motion::FeedMode::inverse_time ? mm_per_inch : 1;
  // A value that is one of the writable ones up to the noise of a double stays itself.
  double const digits = std::floor(feed / unit / digit + 1e-6);
  return digits > 0 ? digits * digit * unit : feed;
}

} // namespace restep::transform
