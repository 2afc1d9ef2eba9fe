#pragma once

#include "motion/step.hpp"

#include <cstddef>
#include <cstdint>
#include <vector>

namespace restep::interpret {

/// The steps of the block in work. The first one is made where the caller wants it, since most blocks give
/// one only; the places of the others are reused from block to block, so that nothing is allocated once the
/// longest block has been met.
class StepQueue {
public:
  /// Where the first step of the next block goes.
  void aim(motion::Step& front) { front_ = &front; }

  /// Starts a block: everything in the queue is dropped.
  void begin(text::Place place, motion::Modes const& modes, bool optional = false,
             std::uint8_t delete_switch = 0) {
    place_ = place;
    modes_ = modes;
    optional_ = optional;
    delete_switch_ = delete_switch;
    size_ = at_ = 0;
  }

  /// Drops the steps of the block made so far.
  void drop() { size_ = at_ = 0; }

  /// Adds a step to the block and gives its event to fill in.
  template <class E>
  E& push(E const& event = E{}) {
    if (size_ > others_.size()) others_.resize(2 * size_);
    motion::Step& step = size_ == 0 ? *front_ : others_[size_ - 1];
    ++size_;
    step.place = place_;
    step.modes = modes_;
    step.optional = optional_;
    step.delete_switch = delete_switch_;
    step.touched = false;
    step.other_feed = false;
    step.generated = false;
    step.passage = 0;
    return step.event.template emplace<E>(event);
  }

  std::size_t size() const { return size_; }
  /// Steps of the block are still to be given out.
  bool waiting() const { return at_ < size_; }

  /// Calls `look` for each step of the block.
  template <class Look>
  void for_each(Look look) {
    for (std::size_t i = 0; i < size_; ++i)
      look(i == 0 ? *front_ : others_[i - 1]);
  }

  /// The text of the block is not to be copied.
  void touch() {
    for_each([](motion::Step& step) { step.touched = true; });
  }

  /// The text of the block is part of a passage that is kept.
  void keep(std::uint32_t passage) {
    for_each([passage](motion::Step& step) {
      step.touched = false;
      step.passage = passage;
    });
  }

  /// Drops a lone step without effect of its own.
  void drop_layout() {
    if (size_ == 1 && std::holds_alternative<motion::Layout>(front_->event)) drop();
  }

  /// The block is complete: its first step, where aim() said, is the next one out.
  void finish_front() {
    front_->first_in_block = true;
    front_->last_in_block = size_ == 1;
    at_ = 1;
  }

  /// The next of the other steps.
  bool pop(motion::Step& step) {
    if (at_ >= size_) return false;
    step = others_[at_ - 1];
    step.first_in_block = false;
    step.last_in_block = ++at_ == size_;
    return true;
  }

private:
  motion::Step* front_ = nullptr;
  std::vector<motion::Step> others_ = std::vector<motion::Step>(16);
  std::size_t size_ = 0;
  std::size_t at_ = 0;
  text::Place place_;
  motion::Modes modes_;
  bool optional_ = false;
  std::uint8_t delete_switch_ = 0;
};

} // namespace restep::interpret
