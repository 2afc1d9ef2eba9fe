#pragma once

#include "cutter/meridian.hpp"
#include "finish/shape.hpp"

#include <vector>

namespace restep::finish {

/// Moves planned levels onto the control's digits. Within a few hundredths of its neighbours' distance each
/// level takes the place where the written contours depart least from the exact ones: where the surface is
/// steep the height is a whole number of digits and d follows from the meridian; where it is nearly flat d
/// rules and the height is rounded.
///
/// No level stands more than `max_stepdown` (mm) below the one before it where that can be helped.
///
/// `s` are arc lengths on the meridian, ends included; gives one shaped level for each of s[1] ... s[n - 2].
std::vector<ShapedLevel> place_levels(cutter::Meridian const& meridian, std::vector<double> const& s,
                                      Stack const& stack, Offsets const& offsets, double resolution,
                                      double max_stepdown);

} // namespace restep::finish
