#pragma once

#include "motion/step.hpp"

namespace restep::motion {

/// Which component of a Vec3 is the first and second axis of a plane and which is normal to it; right-handed,
/// so that counter-clockwise is first towards second (NISTIR 6556, 3.5.3).
struct PlaneAxes {
  int first;
  int second;
  int normal;
};
constexpr PlaneAxes axes_of(Plane plane) {
  return plane == Plane::xy   ? PlaneAxes{0, 1, 2}
         : plane == Plane::zx ? PlaneAxes{2, 0, 1}
                              : PlaneAxes{1, 2, 0};
}

/// An axis-parallel box; components are NaN where a position is unknown. mm.
struct Box {
  Vec3 low;
  Vec3 high;
};

/// The angle an arc turns through, radians in (0, 2 pi]; start equal to end in the plane is a full turn.
/// Quarter turns are exact. Only for arcs.
double sweep(Motion const& arc);

/// Distance of an arc's start point from its centre, in the plane, mm. Only for arcs.
double radius(Motion const& arc);

/// Length of the path, mm: straight moves and arcs, helices along the helix. NaN when a point that matters is
/// unknown.
double length(Motion const& motion);

/// The point at `fraction` in [0, 1] of a motion; 0 and 1 give `from` and `to` exactly. When an arc's end is
/// not quite on the start's circle the radius changes linearly along the arc.
Vec3 point_at(Motion const& motion, double fraction);

/// Unit vector of travel at `fraction`; zero for a motion without length.
Vec3 direction_at(Motion const& motion, double fraction);

/// The smallest box around a motion's path, the bulges of an arc included.
Box bounds(Motion const& motion);

} // namespace restep::motion
