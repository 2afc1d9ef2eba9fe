#pragma once

#include "geometry/vec.hpp"

#include <cstdint>
#include <string>

namespace restep::proof {

/// Where a measure was largest.
struct Spot {
  double value = 0; ///< mm
  geometry::Vec3 at{};
  std::uint32_t line = 0; ///< of the program; 0 where that is not told
};

/// Puts a value there if it is larger.
inline void keep(Spot& spot, double value, geometry::Vec3 const& at, std::uint32_t line = 0) {
  if (value > spot.value) spot = {value, at, line};
}
inline void keep(Spot& spot, Spot const& other) {
  if (other.value > spot.value) spot = other;
}

/// "X1.000 Y2.000 Z-3.000", mm.
std::string place_of(Spot const& spot);

} // namespace restep::proof
