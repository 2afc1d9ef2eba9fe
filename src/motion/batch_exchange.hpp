#pragma once

#include "motion/kept_text.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "motion/stretch_queue.hpp"

#include <array>
#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

namespace restep::motion {

/// What passes by on its way to another thread, in order: steps, stretches, and bytes that were written of
/// them.
class RelayBatch {
public:
  enum class Kind : std::uint8_t { step, stretch, bytes };

  void add(Step const& step) {
    order_.push_back(Kind::step);
    steps_.push_back(step);
    weight_ += sizeof(Step);
  }
  /// A step with the text that it views, which may be given back before it is taken.
  void add_with_text(Step const& step) {
    add(step);
    keep_text(steps_.back(), texts_);
  }
  void add(Stretch const& stretch) {
    order_.push_back(Kind::stretch);
    stretches_.push(stretch);
    weight_ += sizeof(StretchColumns);
  }
  void add(std::string_view bytes) {
    order_.push_back(Kind::bytes);
    sizes_.push_back(bytes.size());
    bytes_ += bytes;
    weight_ += bytes.size();
  }

  bool empty() const { return order_.empty(); }
  bool is_full() const { return weight_ >= most_weight; }

  /// Taking out in order: whether there is more, of which kind the next is, and the next itself. What is
  /// taken stays valid until more is taken.
  bool has_more() const { return taken_ < order_.size(); }
  Kind next_kind() const { return order_[taken_]; }
  Step const& take_step() {
    ++taken_;
    return steps_[steps_taken_++];
  }
  Stretch const& take_stretch() {
    ++taken_;
    last_ = stretches_.front();
    stretches_.pop();
    return last_;
  }
  std::string_view take_bytes() {
    ++taken_;
    std::string_view const bytes = std::string_view(bytes_).substr(bytes_taken_, sizes_[sizes_taken_]);
    bytes_taken_ += sizes_[sizes_taken_++];
    return bytes;
  }

  /// Calls `take` with each in turn and forgets them; what they were kept in is used again.
  template <class Take>
  void give(Take const& take) {
    while (has_more()) {
      switch (next_kind()) {
      case Kind::step: take(take_step()); break;
      case Kind::stretch: take(take_stretch()); break;
      case Kind::bytes: take(take_bytes()); break;
      }
    }
    clear();
  }
  void clear() {
    order_.clear();
    steps_.clear();
    stretches_.clear();
    sizes_.clear();
    bytes_.clear();
    texts_.clear();
    weight_ = taken_ = steps_taken_ = sizes_taken_ = bytes_taken_ = 0;
  }

private:
  /// Large enough for the handing over to cost nothing, small enough to stay in a cache.
  static constexpr std::size_t most_weight = 512UL * 1024;

  std::vector<Kind> order_;
  std::vector<Step> steps_;
  StretchQueue stretches_;
  Stretch last_; ///< that was taken
  std::vector<std::size_t> sizes_;
  std::string bytes_;
  std::deque<std::string> texts_; ///< of steps
  std::size_t weight_ = 0;
  std::size_t taken_ = 0, steps_taken_ = 0, sizes_taken_ = 0, bytes_taken_ = 0;
};

/// Batches on their way from one thread that fills them to one that empties them. Bounded: whoever is too
/// fast waits.
class BatchExchange {
public:
  /// The filling thread's own: the batch to fill, and handing it over for an empty one.
  RelayBatch& filling() { return *filling_; }
  void hand_over() {
    std::unique_lock lock(mutex_);
    full_.push_back(filling_);
    changed_.notify_all();
    changed_.wait(lock, [this] { return !spare_.empty() || abandoned_; });
    if (spare_.empty()) {
      // Nobody takes any more: it is filled over and over.
      full_.pop_back();
      filling_->clear();
      return;
    }
    filling_ = spare_.back();
    spare_.pop_back();
  }
  /// No more will be handed over.
  void end() { set(ended_); }

  /// The emptying thread's own: the next batch, null when there is none any more, and giving it back empty.
  RelayBatch* take() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [this] { return ended_ || !full_.empty(); });
    if (full_.empty()) return nullptr;
    RelayBatch* const batch = full_.front();
    full_.pop_front();
    return batch;
  }
  void give_back(RelayBatch& batch) {
    batch.clear();
    {
      std::lock_guard const lock(mutex_);
      spare_.push_back(&batch);
    }
    changed_.notify_all();
  }
  /// No more will be taken.
  void abandon() { set(abandoned_); }
  bool abandoned() const {
    std::lock_guard const lock(mutex_);
    return abandoned_;
  }

private:
  std::array<RelayBatch, 6> batches_;
  RelayBatch* filling_ = batches_.data();
  std::vector<RelayBatch*> spare_{&batches_[1], &batches_[2], &batches_[3], &batches_[4], &batches_[5]};
  std::deque<RelayBatch*> full_;
  bool ended_ = false, abandoned_ = false;
  mutable std::mutex mutex_; ///< of the four before it
  std::condition_variable changed_;

  void set(bool& flag) {
    {
      std::lock_guard const lock(mutex_);
      flag = true;
    }
    changed_.notify_all();
  }
};

} // namespace restep::motion
