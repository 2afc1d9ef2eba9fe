#pragma once

#include "motion/batch_exchange.hpp"

#include <exception>
#include <string_view>
#include <thread>
#include <type_traits>
#include <utility>

namespace restep::motion {

/// A watcher is told of written text.
template <class Passing>
constexpr bool is_written_text = std::is_same_v<std::remove_cvref_t<Passing>, std::string_view>;

/// Lets somebody watch on a second thread what passes here, in the same order. What it is told does not hang
/// on when it is told: the watcher may not ask anything of the first thread.
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
    if constexpr (std::is_same_v<Passing, Step>)
      exchange_.filling().add_with_text(passing);
    else
      exchange_.filling().add(passing);
    if (exchange_.filling().is_full()) exchange_.hand_over();
  }
  /// Waits until all has been seen, and throws what the watcher has thrown. Nothing may be told afterwards.
  void finish() {
    if (!exchange_.filling().empty()) exchange_.hand_over();
    end();
    if (trouble_) std::rethrow_exception(trouble_);
  }

private:
  Watch watch_;
  BatchExchange exchange_;
  std::exception_ptr trouble_;
  std::jthread thread_; ///< last: it uses all the others

  void end() {
    exchange_.end();
    if (thread_.joinable()) thread_.join();
  }
  void run() {
    while (RelayBatch* const batch = exchange_.take()) {
      see(*batch);
      exchange_.give_back(*batch);
    }
  }
  /// Behind a trouble nothing is seen any more, but taken, so that nobody waits.
  void see(RelayBatch& batch) {
    try {
      if (!trouble_) batch.give(watch_);
    } catch (...) {
      trouble_ = std::current_exception();
    }
  }
};

} // namespace restep::motion
