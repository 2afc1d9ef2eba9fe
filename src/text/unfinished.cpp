#include "text/unfinished.hpp"

#include "text/output.hpp"

#include <array>
#include <atomic>
#include <cerrno>
#include <cstring>
#include <unistd.h>

namespace restep::text {

namespace {

// A signal handler may neither lock nor allocate: fixed slots, each with a state of its own.
enum State : int { vacant, being_written, in_use };

struct Slot {
  std::atomic<int> state{vacant};
  std::array<char, 4096> path{};
};
static_assert(std::atomic<int>::is_always_lock_free);

std::array<Slot, 32> slots;

} // namespace

int note_unfinished(std::string const& path) {
  if (path.size() >= slots[0].path.size()) return -1;
  for (std::size_t i = 0; i < slots.size(); ++i) {
    int expected = vacant;
    if (!slots[i].state.compare_exchange_strong(expected, being_written)) continue;
    std::memcpy(slots[i].path.data(), path.c_str(), path.size() + 1);
    slots[i].state.store(in_use);
    return static_cast<int>(i);
  }
  return -1;
}

void forget_unfinished(int slot) {
  if (slot >= 0) slots[static_cast<std::size_t>(slot)].state.store(vacant);
}

void remove_unfinished_outputs() noexcept {
  int const before = errno;
  for (Slot& slot : slots)
    if (slot.state.load() == in_use) unlink(slot.path.data());
  errno = before;
}

} // namespace restep::text
