#pragma once

#include <cstddef>
#include <cstdint>

namespace restep::text {

/// A stretch of address space that gets memory only where it is used: reserve much, open it from the front,
/// close it from behind. Addresses never change. Touching what is not open is a crash, not a wrong byte.
class Region {
public:
  Region() = default;
  ~Region();
  Region(Region const&) = delete;
  Region& operator=(Region const&) = delete;

  /// Reserves `size` bytes; false when there is no such stretch.
  bool reserve(std::uint64_t size);

  /// Opens [0, end) for reading and writing; false when memory is short or the reservation is too small.
  bool open_to(std::uint64_t end);

  /// Closes the whole steps before `offset`. Their memory is given back, but for a little that is opened
  /// again farther on.
  void release_before(std::uint64_t offset);

  /// Gives back everything; the reservation stays.
  void clear();

  char* data() const { return base_; }
  std::uint64_t size() const { return size_; }

private:
  void drop(std::uint64_t begin, std::uint64_t end);
  bool move_spare_to(std::uint64_t at);

  char* mapped_ = nullptr; ///< base_ is its first address on a whole step
  char* base_ = nullptr;
  std::uint64_t size_ = 0;
  std::uint64_t open_ = 0;
  std::uint64_t released_ = 0;
  std::uint64_t dropped_ = 0; ///< from here to released_ memory is kept, closed, to be used again
};

} // namespace restep::text
