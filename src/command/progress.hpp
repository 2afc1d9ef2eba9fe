#pragma once

#include "command/console.hpp"

#include <chrono>
#include <cstdint>
#include <string_view>

namespace restep::command {

/// How far, how fast and how long still, on one line of the terminal, only for work that lasts and only when
/// a person watches.
class Progress {
public:
  Progress(Console const& console, std::string_view what, std::uint64_t whole)
      : console_(console)
      , what_(what)
      , whole_(whole) {}
  Progress(Progress const&) = delete;
  Progress& operator=(Progress const&) = delete;
  ~Progress() { clear(); }

  /// Cheap enough to be called for every step.
  void at(std::uint64_t done) {
    if (console_.terminal && ++calls_ % 8192 == 0) show(done);
  }
  void clear();

private:
  using Clock = std::chrono::steady_clock;
  Console const& console_;
  std::string_view what_;
  std::uint64_t whole_;
  std::uint64_t calls_ = 0;
  Clock::time_point start_ = Clock::now();
  Clock::time_point next_ = Clock::now() + std::chrono::milliseconds(500);
  std::size_t shown_ = 0; ///< characters that stand on the line

  void show(std::uint64_t done);
};

} // namespace restep::command
