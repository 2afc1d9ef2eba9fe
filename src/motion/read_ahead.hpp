#pragma once

#include "motion/batch_exchange.hpp"
#include "motion/stretch.hpp"

#include <cstddef>
#include <exception>
#include <thread>
#include <utility>

namespace restep::motion {

/// A source that is read ahead on a thread of its own. What it gives is the same, in the same order; the
/// source must not be asked by anybody else meanwhile. Texts that steps view must stay until whoever took the
/// steps is done with them.
class ReadAhead final : public StepSource {
public:
  /// `look` sees everything on the reading thread, before anybody is given it.
  template <class Look>
  ReadAhead(StepSource& source, Look look)
      : thread_([this, &source, look = std::move(look)] {
        try {
          motion::for_each(source, [&](auto const& passing) {
            look(passing);
            exchange_.filling().add(passing);
            if (!exchange_.filling().is_full()) return true;
            exchange_.hand_over();
            return !exchange_.abandoned();
          });
          if (!exchange_.filling().empty()) exchange_.hand_over();
        } catch (...) {
          trouble_ = std::current_exception();
        }
        exchange_.end();
      }) {}
  ReadAhead(ReadAhead const&) = delete;
  ReadAhead& operator=(ReadAhead const&) = delete;
  ~ReadAhead() override { exchange_.abandon(); }

  bool next(Step& step) override {
    while (loose_at_ == loose_.size) {
      if (!has_more()) return false;
      if (batch_->next_kind() == RelayBatch::Kind::step) {
        step = batch_->take_step();
        return true;
      }
      loose_ = batch_->take_stretch();
      loose_at_ = 0;
    }
    step = loose_.step(loose_at_++);
    return true;
  }
  bool next_stretch(Stretch& stretch) override {
    if (loose_at_ < loose_.size) {
      stretch = loose_.behind(loose_at_);
      loose_at_ = loose_.size;
      return true;
    }
    if (!has_more() || batch_->next_kind() != RelayBatch::Kind::stretch) return false;
    stretch = batch_->take_stretch();
    return true;
  }

private:
  BatchExchange exchange_;
  std::exception_ptr trouble_; ///< of the reading thread, to be looked at behind its end
  RelayBatch* batch_ = nullptr;
  Stretch loose_; ///< that goes out step by step
  std::size_t loose_at_ = 0;
  std::jthread thread_; ///< last: it uses all the others

  /// What was taken from a batch last is given up only when more is asked for.
  bool has_more() {
    while (batch_ == nullptr || !batch_->has_more()) {
      if (batch_ != nullptr) exchange_.give_back(*batch_);
      batch_ = exchange_.take();
      if (batch_ != nullptr) continue;
      if (trouble_) std::rethrow_exception(std::exchange(trouble_, {}));
      return false;
    }
    return true;
  }
};

} // namespace restep::motion
