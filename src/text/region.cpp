#include "text/region.hpp"

#include <algorithm>
#include <sys/mman.h>
#include <unistd.h>

namespace restep::text {

namespace {

// Memory is opened and given back in steps of this size, a multiple of every page size in use and as large as
// a huge page: one page fault for it instead of hundreds, where the system has them.
constexpr std::uint64_t step = std::uint64_t{2} << 20;

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
  drop(released_, to);
  released_ = to;
}

void Region::clear() {
  if (open_ > released_) drop(released_, open_);
  open_ = released_ = 0;
}

void Region::drop(std::uint64_t begin, std::uint64_t end) {
  // A fresh mapping in place of the old one also takes the pages off the account of a system that does not
  // overcommit. Should it fail, the pages themselves are still given back.
  void* const at = mmap(base_ + begin, end - begin, PROT_NONE,
                        MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE | MAP_FIXED, -1, 0);
  if (at == MAP_FAILED) madvise(base_ + begin, end - begin, MADV_DONTNEED);
}

} // namespace restep::text
