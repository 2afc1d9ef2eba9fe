#pragma once

#include "cutter/meridian.hpp"
#include "finish/spiral_unroll.hpp"
#include "finish/spiral_way.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <span>
#include <string>
#include <vector>

namespace restep::finish {

/// The motions of a new spiral that runs down the meridian the given way, from the first point of the
/// program's spiral to its last.
///
/// Every turn is told in the manner of the program's turn nearest in height: points above the same places of
/// the contour, arcs for arcs, the same feeds and words. Heights are whole digits of `resolution` mm; in plan
/// each point takes that place on the digits, about the exact one, that stands least off the surface. On a
/// wall the program's own points are taken. Turns that the way keeps are the program's own steps; where one
/// begins or ends inside a motion that is parted. From a turn that leads back the tool goes straight up, over
/// what it has just cut, and in at the height where the next turn begins. Fails in words when an arc would
/// not stay one.
tl::expected<std::vector<motion::Step>, std::string> roll_up(std::span<motion::Step const> operation,
                                                             UnrolledSpiral const& spiral,
                                                             cutter::Meridian const& meridian,
                                                             SpiralWay const& way, double resolution);

} // namespace restep::finish
