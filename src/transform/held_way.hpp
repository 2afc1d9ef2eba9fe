#pragma once

#include "motion/step.hpp"

#include <cstddef>
#include <vector>

namespace restep::transform {

/// The last steps before a pass, held back because its way in may change with the levels that are put above
/// it.
class HeldWay {
public:
  bool empty() const { return steps_.empty(); }

  /// Takes a step; what is too far back by then goes on to `out`.
  void hold(motion::Step const& step, std::vector<motion::Step>& out) {
    if (steps_.size() == longest) {
      out.push_back(steps_.front());
      steps_.erase(steps_.begin());
    }
    steps_.push_back(step);
  }

  /// Moves what is held to the end of `out`.
  void release(std::vector<motion::Step>& out) {
    out.insert(out.end(), steps_.begin(), steps_.end());
    steps_.clear();
  }

private:
  static constexpr std::size_t longest = 64; // down, across and in
  std::vector<motion::Step> steps_;
};

} // namespace restep::transform
