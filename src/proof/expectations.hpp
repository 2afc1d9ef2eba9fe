#pragma once

#include "motion/step.hpp"
#include "motion/stretch_queue.hpp"

#include <cstddef>
#include <cstdint>
#include <deque>
#include <string>

namespace restep::proof {

/// Whether a block may be skipped, and by which switch.
struct BlockDelete {
  bool optional = false;
  int number = 0; ///< 0: a bare "/"

  BlockDelete() = default;
  explicit BlockDelete(motion::Step const& step)
      : optional(step.optional)
      , number(step.optional ? step.delete_switch : 0) {}
  friend bool operator==(BlockDelete const&, BlockDelete const&) = default;
};

struct Expected {
  motion::Event event;
  std::uint32_t line = 0;
  BlockDelete mark;
};

/// What was meant and has not been read yet, in order. Plain cuts are kept in stretches, as they came, and
/// become events one by one where somebody asks for them one by one.
class Expectations {
public:
  bool empty() const { return queue_.empty(); }

  void push(motion::Event const& event, std::uint32_t line, BlockDelete mark);
  /// Cuts that do not move are left out.
  void push(motion::Stretch const& cuts);
  void push_front(Expected const& expected) { queue_.push_front({expected, false}); }
  void pop();

  Expected const& front() { return at(0); }
  /// The next but so many; null where there are fewer.
  Expected const* look_ahead(std::size_t i) { return make_events(i + 1) ? &queue_[i].expected : nullptr; }

  /// The next are plain cuts, and have not been asked for one by one.
  bool begins_with_cuts() const { return !queue_.empty() && queue_.front().is_stretch; }
  motion::Stretch cuts() const { return stretches_.front().behind(met_); }
  void pop_cuts(std::size_t count);

private:
  struct Item {
    Expected expected;
    bool is_stretch = false; ///< the next of the stretches stands here
  };
  std::deque<Item> queue_;
  motion::StretchQueue stretches_;  ///< each has a cut left that moves
  std::size_t met_ = 0;             ///< cuts of the first of them that are done with
  std::deque<std::string> carried_; ///< texts of the carried blocks in the queue

  Expected const& at(std::size_t i) {
    make_events(i + 1);
    return queue_[i].expected;
  }
  bool make_events(std::size_t count);
  void pass_still_cuts(std::deque<Item>::iterator const& stretch);
};

} // namespace restep::proof
