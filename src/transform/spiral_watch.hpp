#pragma once

#include "finish/spiral_find.hpp"
#include "finish/turning.hpp"
#include "motion/step.hpp"

#include <cmath>
#include <cstddef>
#include <numbers>

namespace restep::transform {

/// Tells, while steps go by, whether what is being cut may be a spiral: a way that never rises, or never
/// falls, and goes round and round. What turns too slowly for its number of motions is none, so that what is
/// kept for its sake is bounded by the pass.
class SpiralWatch {
public:
  /// Takes the next feed motion.
  void add(motion::Motion const& m) {
    bool const level = finish::is_level_cut(m);
    if (!level && !slopes(finish::is_falling_cut(m), finish::is_rising_cut(m))) return;
    turning_.add(m);
    count(level);
  }
  /// The same of a plain cut.
  void add(motion::Vec3 const& from, motion::Vec3 const& to) {
    bool const level = finish::is_level_way(from, to);
    if (!level && !slopes(finish::is_falling_way(from, to), finish::is_rising_way(from, to))) return;
    turning_.add(from, to);
    count(level);
  }
  void reset() { *this = {}; }

  /// It has gone round once.
  bool turned_once() const { return turned() >= turn; }
  /// True as long as it may be a spiral.
  bool goes_on() const {
    return motions_ > 0 && turned() + turn >= static_cast<double>(motions_) * least_turned &&
           std::abs(turning_.turned() - turned_at_last_fall_) <= most_level_turns * turn;
  }
  /// True where this alone is reason to keep what goes by. Half of the lines over a surface rise, which tells
  /// nothing; nearly all spirals fall.
  bool goes_on_turning() const { return (way_ <= 0 || turned() >= turn / 4) && goes_on(); }

private:
  static constexpr double turn = 2 * std::numbers::pi;
  static constexpr double least_turned = turn / (1 << 15); ///< by a motion of a spiral, in the mean
  static constexpr double most_level_turns = 3;            ///< the closing turn, perhaps cut twice

  double turned() const { return std::abs(turning_.turned()); }

  std::size_t motions_ = 0;
  finish::Turning turning_;
  double turned_at_last_fall_ = 0; ///< or rise
  int way_ = 0;                    ///< -1 it falls, 1 it rises, 0 it has done neither

  // A way that neither falls nor rises is no spiral, and one that does the other than before is none any
  // more.
  bool slopes(bool falls, bool rises) {
    int const way = falls ? -1 : rises ? 1 : 0;
    if (way == 0 || way == -way_) {
      reset();
      return false;
    }
    way_ = way;
    return true;
  }

  void count(bool level) {
    ++motions_;
    if (!level) turned_at_last_fall_ = turning_.turned();
  }
};

} // namespace restep::transform
