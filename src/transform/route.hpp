#pragma once

#include "motion/step.hpp"
#include "transform/transform.hpp"

#include <array>
#include <cstddef>

namespace restep::transform {

/// The heights above everything that is cut, and how near to one counts as at it. Work coordinates, mm;
/// -infinity when the program cuts nothing.
struct Clearance {
  double height = 0; ///< sideways rapids at or above it are safe
  double lift = 0;   ///< where a sideways rapid that is too low goes
  double park = 0;   ///< where retracts go: first move, tool change, end
  double tolerance = 0;

  bool known() const;
  bool parked(double z) const { return z >= park - tolerance; }
  bool at_or_above(double z) const { return z >= height - tolerance; }
};

/// From the highest cut (or the job's stock) up: Machine::rapid_clearance to the safe height, from there
/// Machine::clearance to the height of retracts. What is too low is lifted to the lowest safe height at which
/// the program itself travels, so that it goes where the programmer went.
Clearance clearance_of(Context const& context);

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

/// Up, across, down: as many of the three as it takes to keep sideways rapids at or above the safe height. A
/// slanting rapid is taken apart wherever it comes below the height of retracts. The height of `stand` must
/// be known or be the machine's top. A target height that is not known is the present one.
Route safe_route(Stand const& stand, motion::Vec3 target, Clearance const& clearance);

} // namespace restep::transform
