#pragma once

#include "motion/step.hpp"

#include <cstddef>
#include <utility>
#include <vector>

namespace restep::interpret {

/// The steps of the block in work. Places are reused from block to block, so that nothing is allocated once
/// the longest block has been met.
class StepQueue {
public:
  /// Starts a block: everything in the queue is dropped.
  void begin(text::Place place, motion::Modes const& modes, bool optional) {
    place_ = place;
    modes_ = modes;
    optional_ = optional;
    size_ = at_ = 0;
  }

  /// Drops the steps of the block made so far.
  void drop() { size_ = at_ = 0; }

  template <class E>
  E& push(E const& event = E{}) {
    if (size_ == steps_.size()) steps_.resize(2 * size_);
    motion::Step& step = steps_[size_++];
    step.place = place_;
    step.modes = modes_;
    step.optional = optional_;
    return step.event.template emplace<E>(event);
  }

  bool empty() const { return at_ == size_; }
  std::size_t size() const { return size_; }

  bool pop(motion::Step& step) {
    if (at_ == size_) return false;
    step = steps_[at_];
    step.first_in_block = at_ == 0;
    step.last_in_block = ++at_ == size_;
    return true;
  }

private:
  std::vector<motion::Step> steps_ = std::vector<motion::Step>(16);
  std::size_t size_ = 0;
  std::size_t at_ = 0;
  text::Place place_;
  motion::Modes modes_;
  bool optional_ = false;
};

} // namespace restep::interpret
