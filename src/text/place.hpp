#pragma once

#include <cstdint>

namespace restep::text {

/// Where a block stands in its program: byte offset and length (without the line end) and the line, counted
/// from 1. Line 0 means "nowhere in the program" (the head and end that restep itself adds).
struct Place {
  std::uint64_t offset = 0;
  std::uint32_t length = 0;
  std::uint32_t line = 0;

  friend bool operator==(Place const&, Place const&) = default;
};

/// A stretch of one line: bytes from its first character, [begin, end).
struct Span {
  std::uint32_t begin = 0;
  std::uint32_t end = 0;

  friend bool operator==(Span const&, Span const&) = default;
};

} // namespace restep::text
