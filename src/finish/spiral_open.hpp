#pragma once

#include "finish/spiral_find.hpp"
#include "finish/spiral_unroll.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <span>
#include <string>
#include <vector>

namespace restep::finish {

/// The last turn of a run in plan: from the place beside its end at which it had passed one turn before, once
/// round, to its end. Where it begins inside a motion that motion is told from there on. The error says that
/// no way round leads back there.
tl::expected<std::vector<Segment>, std::string> last_turn_of(std::span<motion::Step const> operation,
                                                             SpiralRun const& run, double max_shift,
                                                             double resolution);

/// Follows a run that ends without a turn at one height.
///
/// At any one place of the contour the points of the turns, (d, z), lie on the surface's meridian, whatever
/// the contour is; only where they are counted from is not known. The meridian is fitted to those above the
/// end. At every other place the points of the turns are then off it by as much as the last turn stands off
/// the contour at the end's height: the mean of what each of them says is taken, the last turn is moved by it
/// there, and with the contour so found the run is followed once more, until nothing changes.
tl::expected<UnrolledSpiral, std::string> unroll_open(std::span<motion::Step const> operation,
                                                      SpiralRun const& run, UnrollLimits const& limits);

} // namespace restep::finish
