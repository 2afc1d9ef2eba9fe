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
  template <class Steps>
  void hold(motion::Step const& step, Steps& out) {
    if (steps_.size() == longest) {
      out.push_back(steps_.front());
      steps_.erase(steps_.begin());
    }
    steps_.push_back(step);
  }

  /// Moves what is held to the end of `out`.
  template <class Steps>
  void release(Steps& out) {
    for (motion::Step const& step : steps_)
      out.push_back(step);
    steps_.clear();
  }

private:
  static constexpr std::size_t longest = 64; // down, across and in
  std::vector<motion::Step> steps_;
};

} // namespace restep::transform
