#pragma once

#include "finish/offsets.hpp"
#include "finish/stack.hpp"

#include <span>
#include <vector>

namespace restep::finish {

/// Where the vertices of chords stand, as far as their digits leave it open: the levels beside a level tell,
/// moved to where it is. Gives per level, contour and element how far the element's start goes to the left of
/// the course, mm: never farther than half a digit each way, nowhere at the ends of chords' curves, at
/// corners and at arcs, and where the neighbours say something else. The offsets' `d` and `movable` must be
/// known; `resolution` is the program's last digit, mm.
std::vector<std::vector<std::vector<float>>> steady_vertices(Stack const& stack, Offsets const& offsets,
                                                             double resolution);

/// A contour with its vertices moved so.
std::vector<Segment> steadied(Contour const& contour, std::span<float const> left);

} // namespace restep::finish
