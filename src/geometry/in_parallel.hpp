#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace restep::geometry {

/// Calls work(i) for every i from 0 to count - 1, on as many threads as the machine has processors (or
/// `threads` of them, 0: the machine's own number). Calls for different i must not touch the same data; give
/// each its own place for its result, and the whole is the same for any number of threads. The first
/// exception is thrown on when all threads have ended.
template <class Work>
void in_parallel(std::size_t count, Work const& work, std::size_t threads = 0) {
  if (threads == 0) threads = std::max(1u, std::thread::hardware_concurrency());
  threads = std::min(threads, count);
  std::atomic<std::size_t> next{0};
  std::exception_ptr trouble;
  std::mutex trouble_mutex;
  auto const run = [&] {
    try {
      for (std::size_t i = next++; i < count; i = next++)
        work(i);
    } catch (...) {
      next = count;
      std::lock_guard const lock(trouble_mutex);
      if (!trouble) trouble = std::current_exception();
    }
  };
  std::vector<std::jthread> helpers;
  for (std::size_t i = 1; i < threads; ++i)
    helpers.emplace_back(run);
  run();
  helpers.clear();
  if (trouble) std::rethrow_exception(trouble);
}

} // namespace restep::geometry
