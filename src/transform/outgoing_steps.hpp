#pragma once

#include "motion/step.hpp"

#include <cstddef>
#include <deque>
#include <utility>
#include <vector>

namespace restep::transform {

/// Steps on their way out, first in, first out. A pass of a million steps is taken over as it is and not
/// copied; what has been handed on is freed piece by piece.
class OutgoingSteps {
public:
  bool empty() const { return pieces_.empty(); }

  void push_back(motion::Step const& step) {
    if (pieces_.empty() || pieces_.back().size() == pieces_.back().capacity()) {
      pieces_.emplace_back();
      pieces_.back().reserve(piece);
    }
    pieces_.back().push_back(step);
  }

  void append(std::vector<motion::Step>&& steps) {
    if (!steps.empty()) pieces_.push_back(std::move(steps));
  }

  /// The first step leaves the queue; it must not be empty.
  void pop_to(motion::Step& step) {
    step = pieces_.front()[at_++];
    if (at_ < pieces_.front().size()) return;
    pieces_.pop_front();
    at_ = 0;
  }

private:
  static constexpr std::size_t piece = 256; // steps
  std::deque<std::vector<motion::Step>> pieces_;
  std::size_t at_ = 0; ///< in the first piece
};

} // namespace restep::transform
