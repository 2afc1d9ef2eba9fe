#pragma once

#include "motion/stretch.hpp"

#include <deque>
#include <utility>

namespace restep::motion {

/// Stretches that are kept for later, first in, first out.
class StretchQueue {
public:
  bool empty() const { return kept_.empty(); }

  void push(Stretch const& stretch) { kept_.push_back({ColumnsHold(*stretch.columns), stretch}); }

  Stretch const& front() const { return kept_.front().stretch; }
  /// A view of the first one stays valid until the next one goes.
  void pop() {
    gone_ = std::move(kept_.front());
    kept_.pop_front();
  }
  void clear() {
    kept_.clear();
    gone_ = {};
  }

  template <class Visit>
  void for_each(Visit const& visit) const {
    for (Kept const& kept : kept_)
      visit(kept.stretch);
  }

private:
  struct Kept {
    ColumnsHold columns;
    Stretch stretch;
  };
  std::deque<Kept> kept_;
  Kept gone_;
};

} // namespace restep::motion
