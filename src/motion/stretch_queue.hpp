#pragma once

#include "motion/stretch.hpp"

#include <algorithm>
#include <cstddef>
#include <deque>
#include <memory>
#include <utility>
#include <vector>

namespace restep::motion {

/// Stretches that are kept for later, first in, first out. Their columns are copied, into memory that is used
/// again and again.
class StretchQueue {
public:
  bool empty() const { return kept_.empty(); }

  void push(Stretch const& stretch) {
    if (spare_.empty()) spare_.push_back(std::make_unique<Kept>());
    Kept& kept = *spare_.back();
    std::copy_n(stretch.x(), stretch.size + 1, kept.columns.x.begin());
    std::copy_n(stretch.y(), stretch.size + 1, kept.columns.y.begin());
    std::copy_n(stretch.z(), stretch.size + 1, kept.columns.z.begin());
    std::copy_n(stretch.places(), stretch.size, kept.columns.places.begin());
    kept.columns.renew();
    kept.stretch = stretch;
    kept.stretch.columns = &kept.columns;
    kept.stretch.first = 0;
    kept_.push_back(std::move(spare_.back()));
    spare_.pop_back();
  }

  Stretch const& front() const { return kept_.front()->stretch; }
  /// A view of the first one stays valid until the next is pushed.
  void pop() {
    spare_.push_back(std::move(kept_.front()));
    kept_.pop_front();
  }
  void clear() {
    while (!empty())
      pop();
  }

  template <class Visit>
  void for_each(Visit const& visit) const {
    for (auto const& kept : kept_)
      visit(std::as_const(kept->stretch));
  }

private:
  struct Kept {
    StretchColumns columns;
    Stretch stretch;
  };
  std::deque<std::unique_ptr<Kept>> kept_;
  std::vector<std::unique_ptr<Kept>> spare_;
};

} // namespace restep::motion
