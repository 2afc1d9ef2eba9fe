#pragma once

#include "finish/stack.hpp"

#include <optional>

namespace restep::finish {

/// A stack whose contours have other chords on each level, told anew in chords that all levels have in
/// common.
///
/// The vertices of the level with the most elements are followed to its neighbours, level by level, each
/// along the normal of its contour to the curve that the neighbour's chords stand for (finish/course).
/// Elements are parted where the new chords of some level would stand off its curve by more than the
/// program's own do. Heights, starts, directions and steps stay those of the program.
///
/// None where a contour has arcs or corners, since no vertex of a neighbour is bound to be theirs; where the
/// contours of a level are not as many as those of the next; and where the vertices cannot be followed in
/// their order.
std::optional<Stack> with_common_elements(Stack const& stack);

} // namespace restep::finish
