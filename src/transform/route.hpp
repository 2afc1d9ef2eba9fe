#pragma once

#include "motion/step.hpp"

#include <array>
#include <cstddef>

namespace restep::transform {

/// A height above everything that is cut, and how near to it counts as at it.
struct Clearance {
  double height = 0; ///< work coordinates, mm; -infinity when the program cuts nothing
  double tolerance = 0;

  bool known() const;
  bool at_or_above(double z) const { return z >= height - tolerance; }
};

/// Where the tool is, as far as rapids care.
struct Stand {
  motion::Vec3 at = motion::unknown_position;
  bool top = false; ///< the last Z move went to the machine's top, wherever that is in work coordinates

  bool safe_over(Clearance const& clearance) const {
    return top || (motion::is_known(at.z) && clearance.at_or_above(at.z));
  }
};

/// The points a rapid visits, the target last; straight Z and straight XY moves unless everything is high up.
struct Route {
  std::array<motion::Vec3, 3> points{};
  std::size_t count = 0;
  bool lifts = false; ///< goes up first

  void add(motion::Vec3 point) { points[count++] = point; }
};

/// True when X or Y may change on the way to `to`; a coordinate of `to` that is not known does not move.
bool moves_sideways(motion::Vec3 from, motion::Vec3 to);

/// Up, across, down: as many of the three as it takes to keep sideways rapids at or above the clearance. The
/// height of `stand` must be known or be the machine's top. A target height that is not known is the present
/// one.
Route safe_route(Stand const& stand, motion::Vec3 target, Clearance const& clearance);

} // namespace restep::transform
