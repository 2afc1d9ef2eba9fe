#pragma once

#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "motion/stretch_queue.hpp"

#include <array>
#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <exception>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>
#include <type_traits>
#include <utility>
#include <vector>

namespace restep::motion {

/// A watcher is told of written text.
template <class Passing>
constexpr bool is_written_text = std::is_same_v<std::remove_cvref_t<Passing>, std::string_view>;

/// What passes by on its way to another thread, in order: steps, stretches, and bytes that were written of
/// them.
class RelayBatch {
public:
  void add(Step const& step) {
    order_.push_back(Kind::step);
    steps_.push_back(step);
    weight_ += sizeof(Step);
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

  /// Calls `take` with each in turn and forgets them; what they were kept in is used again.
  template <class Take>
  void give(Take const& take) {
    std::size_t step = 0, size = 0, byte = 0;
    for (Kind const kind : order_) {
      switch (kind) {
      case Kind::step: take(static_cast<Step const&>(steps_[step++])); break;
      case Kind::stretch:
        take(stretches_.front());
        stretches_.pop();
        break;
      case Kind::bytes:
        take(std::string_view(bytes_).substr(byte, sizes_[size]));
        byte += sizes_[size++];
        break;
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
    weight_ = 0;
  }

private:
  enum class Kind : std::uint8_t { step, stretch, bytes };
  /// Large enough for the handing over to cost nothing, small enough to stay in a cache.
  static constexpr std::size_t most_weight = 512UL * 1024;

  std::vector<Kind> order_;
  std::vector<Step> steps_;
  StretchQueue stretches_;
  std::vector<std::size_t> sizes_;
  std::string bytes_;
  std::size_t weight_ = 0;
};

/// Lets somebody watch on a second thread what passes here, in the same order. What it is told does not hang
/// on when it is told: the watcher may not ask anything of the first thread. Bounded: whoever is too fast
/// waits.
template <class Watch>
class Relay {
public:
  /// `watch` takes a step, a stretch, and written bytes where bytes are told.
  explicit Relay(Watch watch)
      : watch_(std::move(watch))
      , thread_([this] { run(); }) {}
  Relay(Relay const&) = delete;
  Relay& operator=(Relay const&) = delete;
  ~Relay() { end(); }

  template <class Passing>
  void tell(Passing const& passing) {
    filling_->add(passing);
    if (filling_->is_full()) hand_over();
  }
  /// Waits until all has been seen, and throws what the watcher has thrown. Nothing may be told afterwards.
  void finish() {
    if (!filling_->empty()) hand_over();
    end();
    if (trouble_) std::rethrow_exception(trouble_);
  }

private:
  Watch watch_;
  std::array<RelayBatch, 3> batches_;
  RelayBatch* filling_ = batches_.data();
  std::vector<RelayBatch*> spare_{&batches_[1], &batches_[2]};
  std::deque<RelayBatch*> full_;
  bool ended_ = false;
  std::mutex mutex_; ///< of the three before it
  std::condition_variable changed_;
  std::exception_ptr trouble_;
  std::jthread thread_; ///< last: it uses all the others

  void hand_over() {
    std::unique_lock lock(mutex_);
    full_.push_back(filling_);
    changed_.notify_all();
    changed_.wait(lock, [this] { return !spare_.empty(); });
    filling_ = spare_.back();
    spare_.pop_back();
  }
  void end() {
    {
      std::lock_guard const lock(mutex_);
      ended_ = true;
    }
    changed_.notify_all();
    if (thread_.joinable()) thread_.join();
  }

  void run() {
    for (;;) {
      RelayBatch* batch = nullptr;
      {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [this] { return ended_ || !full_.empty(); });
        if (full_.empty()) return;
        batch = full_.front();
        full_.pop_front();
      }
      see(*batch);
      {
        std::lock_guard const lock(mutex_);
        spare_.push_back(batch);
      }
      changed_.notify_all();
    }
  }
  /// Behind a trouble nothing is seen any more, but taken, so that nobody waits.
  void see(RelayBatch& batch) {
    try {
      if (!trouble_) batch.give(watch_);
    } catch (...) {
      trouble_ = std::current_exception();
    }
    batch.clear();
  }
};

} // namespace restep::motion
