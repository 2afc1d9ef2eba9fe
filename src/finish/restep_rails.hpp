#pragma once

#include "finish/pass.hpp"
#include "finish/rails.hpp"

#include <cstddef>
#include <span>

namespace restep::finish {

/// Understands a stack whose contours are no offsets of each other, and gives it new levels where asked and
/// possible.
///
/// match points -> fit their courses -> plan common heights -> shape contours -> link them. First and last
/// level stay as they are, to the last digit. What cannot be done leaves the pass as it was, with the reason
/// in the report; so does a surface whose error between the levels is not bounded below the tolerance.
/// `in_common`: the stack in elements that all its levels have, which may be itself
/// (finish/common_elements); the moves between the levels are learnt from the program's own.
PassOutcome restep_by_rails(std::span<motion::Step const> operation, Stack const& stack,
                            Stack const& in_common, cutter::Tool const* tool, int tool_number,
                            PassRequest const& request);

/// How far the surface between the levels may be from what the levels say, mm, where the program's last digit
/// is worth `resolution`: what a point's own digits are worth along a normal, twice.
double rail_tolerance(double resolution);

} // namespace restep::finish
