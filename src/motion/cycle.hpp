#pragma once

#include "motion/step.hpp"

#include <vector>

namespace restep::motion {

/// How far above the last bottom a deep-hole cycle stops its rapid approach, and how far a chip-breaking
/// cycle backs off, mm. NISTIR 6556 gives no figure; 0.010 inch is from memory.
inline constexpr double peck_clearance = 0.254;

/// Takes a hole of a canned cycle apart into what the machine does, in order (NISTIR 6556, 3.5.16.1 to .10;
/// G73, G74 and G76 as the trade uses them): Motion (rapid or line), Dwell, SpindleTurn and, for G88, Stop.
/// `rotation` is how the spindle turned before, and how it turns again afterwards. An oriented stop is a
/// plain SpindleTurn stop. G76 shifts by shift_i, shift_j, shift_k in the plane; a shift given by Q alone has
/// a direction that only the control knows and is left out. In G87 the shift of the normal axis (K in
/// the XY plane) is the absolute height it cuts up to. G88 ends with a rapid to the clear height, where the
/// operator has brought the tool already.
std::vector<Event> expand(Cycle const& cycle, Rotation rotation = Rotation::clockwise);

/// The same into a vector that is cleared first and keeps its memory.
void expand(Cycle const& cycle, Rotation rotation, std::vector<Event>& events);

} // namespace restep::motion
