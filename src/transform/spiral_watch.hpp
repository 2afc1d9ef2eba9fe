#pragma once

#include "finish/spiral_find.hpp"
#include "motion/step.hpp"

#include <cmath>
#include <cstddef>
#include <numbers>

namespace restep::transform {

/// Tells, while steps go by, whether what is being cut may be a spiral: a way that never rises and goes round
/// and round. What turns too slowly for its number of motions is none, so that what is kept for its sake is
/// bounded by the pass.
class SpiralWatch {
public:
  /// Takes the next feed motion.
  void add(motion::Motion const& m) {
    bool const level = finish::is_level_cut(m);
    if (!level && !finish::is_falling_cut(m)) {
      reset();
      return;
    }
    ++motions_;
    if (motion::is_arc(m)) {
      turned_ += sweep_of(m);
      direction_ = {};
    } else {
      geometry::Vec2 const along = geometry::xy(m.to) - geometry::xy(m.from);
      if (direction_ != geometry::Vec2{})
        turned_ += std::atan2(cross(direction_, along), dot(direction_, along));
      direction_ = along;
    }
    if (!level) turned_at_last_fall_ = turned_;
  }
  void reset() { *this = {}; }

  /// Whole turns so far.
  double turns() const { return std::abs(turned_) / (2 * std::numbers::pi); }
  /// True as long as it may be a spiral.
  bool goes_on() const {
    return motions_ > 0 && turns() + 1 >= static_cast<double>(motions_) / most_in_a_turn &&
           std::abs(turned_ - turned_at_last_fall_) <= most_level_turns * 2 * std::numbers::pi;
  }

private:
  static constexpr double most_in_a_turn = 1 << 15;
  static constexpr double most_level_turns = 3; ///< the closing turn, perhaps cut twice

  static double sweep_of(motion::Motion const& m) {
    geometry::Vec2 const a = geometry::xy(m.from) - geometry::xy(m.centre);
    geometry::Vec2 const b = geometry::xy(m.to) - geometry::xy(m.centre);
    double const sense = m.path == motion::PathKind::arc_ccw ? 1 : -1;
    double angle = sense * std::atan2(cross(a, b), dot(a, b));
    if (angle <= 0) angle += 2 * std::numbers::pi;
    return sense * angle;
  }

  std::size_t motions_ = 0;
  double turned_ = 0; ///< radians, counter-clockwise above 0
  double turned_at_last_fall_ = 0;
  geometry::Vec2 direction_{};
};

} // namespace restep::transform
