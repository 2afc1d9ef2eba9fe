#pragma once

#include "geometry/vec.hpp"
#include "motion/step.hpp"

#include <cstdint>
#include <limits>
#include <vector>

namespace restep::motion {

/// The reach of one kind of motion per axis and the line that reaches furthest, arcs' bulges and cycles
/// included.
struct Reach {
  geometry::Vec3 low{std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity(),
                     std::numeric_limits<double>::infinity()};
  geometry::Vec3 high{-std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity(),
                      -std::numeric_limits<double>::infinity()};
  std::uint32_t low_line[3] = {0, 0, 0};
  std::uint32_t high_line[3] = {0, 0, 0};
};

/// What one reading of the whole program tells before anything is rewritten.
struct Survey {
  Reach cutting; ///< feed motions, work coordinates (all systems taken together)
  Reach rapids;
  double highest_cut =
      -std::numeric_limits<double>::infinity(); ///< highest Z at which a feed motion moves sideways, mm
  std::vector<int> tools;                       ///< in order of first use
  std::uint64_t blocks = 0;
  std::uint64_t motions = 0;
  bool ends = false;          ///< M2 or M30 seen
  bool length_offset = false; ///< G43 seen: Z is the tip's only while one is in force

  /// Takes one more step into account.
  void add(Step const& step);
};

} // namespace restep::motion
