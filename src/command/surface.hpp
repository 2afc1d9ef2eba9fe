#pragma once

#include "command/failure.hpp"
#include "cutter/meridian.hpp"
#include "cutter/tool.hpp"

#include <string_view>

namespace restep::command {

/// A surface in words and the curve that a tool's tip follows to cut it: "round 1.5", "fillet 3",
/// "draft 3deg height 10", "chamfer 45deg height 2", "wall height 10". Lengths are mm when they have no unit.
/// z is 0 at the top of what is cut for round, draft, chamfer and wall, at the floor for a fillet; d is 0 at
/// the upper end of the curve.
Expected<cutter::Meridian> surface_meridian(std::string_view text, cutter::Tool const& tool);

} // namespace restep::command
