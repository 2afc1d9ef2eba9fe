#pragma once

#include "finish/contour.hpp"
#include "motion/stretch_queue.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <vector>

namespace restep::transform {

/// Stretches of plain cuts that are kept back until it is known whether they belong to a pass. Nearly all do
/// not: a surface that is cut in lines is level here and there. So they are kept as they came, and are told
/// from a pass by what every pass has, before steps are made of them.
class HeldCuts {
public:
  void hold(motion::Stretch const& cuts) {
    kept_.push(cuts);
    size_ += cuts.size;
    for (std::size_t i = 0; i < cuts.size; ++i)
      look_at(cuts.point(i), cuts.point(i + 1));
  }

  std::size_t size() const { return size_; } ///< cuts that were held
  bool empty() const { return kept_.empty(); }

  /// False when no stack and no spiral can be among them: a stack has at least `least` contours, each a run
  /// of level cuts that closes or is not far from the one before it (finish/stack), and a spiral that does
  /// not go round and round ends in a loop at one height.
  bool may_hold_levels(std::size_t least) const {
    return near_ + (is_near() ? 1 : 0) + 1 >= least || may_close_;
  }

  /// The next of them, until all have been given.
  bool give(motion::Stretch& cuts) {
    if (kept_.empty()) return false;
    cuts = kept_.front();
    kept_.pop();
    return true;
  }
  void append_to(std::vector<motion::Step>& steps) const {
    kept_.for_each([&](motion::Stretch const& cuts) {
      motion::for_each_step(cuts, [&](motion::Step const& step) { steps.push_back(step); });
    });
  }
  void clear() {
    kept_.clear();
    size_ = near_ = 0;
    level_ = may_close_ = any_ = false;
    fed_ = 0;
  }

private:
  motion::StretchQueue kept_;
  std::size_t size_ = 0;
  std::size_t near_ = 0;   ///< runs of level cuts at one height, not far behind others; the last is not in it
  bool any_ = false;       ///< there is a run
  bool level_ = false;     ///< the last cut is one
  double height_ = 0;      ///< of the last run
  geometry::Vec2 way_{};   ///< of its first cut
  double length_ = 0;      ///< of the run, or more
  double fed_before_ = 0;  ///< from the run before it, or less; the first has none before it
  double fed_ = 0;         ///< behind it, or less
  bool may_close_ = false; ///< a run turns back and may have come to its own beginning

  bool is_near() const { return any_ && fed_before_ <= finish::longest_way_between * length_; }

  void look_at(motion::Vec3 from, motion::Vec3 to) {
    geometry::Vec2 const way = geometry::xy(to) - geometry::xy(from);
    double const dx = std::abs(way.x);
    double const dy = std::abs(way.y);
    bool const level = finish::is_level_way(from, to);
    if (level && !(level_ && std::abs(from.z - height_) <= finish::same_height)) {
      if (is_near()) ++near_;
      fed_before_ = any_ ? fed_ : std::numeric_limits<double>::infinity();
      any_ = true;
      height_ = from.z;
      way_ = way;
      length_ = fed_ = 0;
    }
    if (level)
      length_ += dx + dy;
    else
      fed_ += std::max(dx, dy);
    level_ = level;
    may_close_ = may_close_ || (level && !(dot(way, way_) > 0));
  }
};

} // namespace restep::transform
