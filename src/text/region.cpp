#include "text/region.hpp"

#include <algorithm>
#include <sys/mman.h>
#include <unistd.h>

namespace restep::text {

namespace {

// Memory is opened and given back in steps of this size, a multiple of every page size in use and as large as
// a huge page: one page fault for it instead of hundreds, where the system has them.
constexpr std::uint64_t step = std::uint64_t{2} << 20;

// So much is kept for use farther on: to move a step's memory costs a hundredth of having it cleared.
constexpr std::uint64_t most_spare = 2 * step;

constexpr std::uint64_t down_to_step(std::uint64_t offset) {
  return offset / step * step;
}

} // namespace

Region::~Region() {
  if (mapped_ != nullptr) munmap(mapped_, size_ + step);
}

bool Region::reserve(std::uint64_t size) {
  std::uint64_t const rounded = std::max(step, down_to_step(size + step - 1));
  void* const at =
      mmap(nullptr, rounded + step, PROT_NONE, MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
  if (at == MAP_FAILED) return false;
  mapped_ = static_cast<char*>(at);
  base_ = mapped_ + (step - reinterpret_cast<std::uintptr_t>(mapped_) % step) % step;
  size_ = rounded;
  return true;
}

bool Region::open_to(std::uint64_t end) {
  if (end <= open_) return true;
  if (end > size_) return false;
  std::uint64_t const to = std::min(size_, down_to_step(end + step - 1));
  while (open_ < to && move_spare_to(open_))
    open_ += step;
  if (open_ == to) return true;
  if (mprotect(base_ + open_, to - open_, PROT_READ | PROT_WRITE) != 0) return false;
#ifdef MADV_HUGEPAGE
  madvise(base_ + open_, to - open_, MADV_HUGEPAGE);
#endif
  open_ = to;
  return true;
}

void Region::release_before(std::uint64_t offset) {
  std::uint64_t const to = std::min(down_to_step(offset), open_);
  if (to <= released_) return;
  // Closed as what was never open is, so that a look behind the reader crashes.
  if (mprotect(base_ + released_, to - released_, PROT_NONE) != 0) drop(released_, to);
  released_ = to;
  if (released_ - dropped_ <= most_spare) return;
  drop(dropped_, released_ - most_spare);
  dropped_ = released_ - most_spare;
}

// False where there is none, or where the system cannot: memory is then opened afresh.
bool Region::move_spare_to(std::uint64_t at) {
#ifdef MREMAP_DONTUNMAP
  if (dropped_ + step > released_) return false;
  // The old place must not become free for a moment: another thread might be given it.
  void* const moved =
      mremap(base_ + dropped_, step, step, MREMAP_MAYMOVE | MREMAP_FIXED | MREMAP_DONTUNMAP, base_ + at);
  if (moved == MAP_FAILED) return false;
  drop(dropped_, dropped_ + step);
  dropped_ += step;
  return mprotect(base_ + at, step, PROT_READ | PROT_WRITE) == 0;
#else
  return at > size_;
#endif
}

void Region::clear() {
  if (open_ > dropped_) drop(dropped_, open_);
  open_ = released_ = dropped_ = 0;
}

void Region::drop(std::uint64_t begin, std::uint64_t end) {
  // A fresh mapping in place of the old one also takes the pages off the account of a system that does not
  // overcommit. Should it fail, the pages themselves are still given back.
  void* const at = mmap(base_ + begin, end - begin, PROT_NONE,
                        MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE | MAP_FIXED, -1, 0);
  if (at == MAP_FAILED) madvise(base_ + begin, end - begin, MADV_DONTNEED);
}

} // namespace restep::text
