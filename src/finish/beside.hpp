#pragma once

#include "finish/contour.hpp"

namespace restep::finish {

/// True when the two contours run beside each other, in either direction: almost all of each lies within
/// `reach` mm of the other. `backwards` is set when they run against each other.
bool run_beside(Contour const& a, Contour const& b, double reach, bool& backwards);

/// True when two open contours stand one above the other, in either direction: more than half of each lies
/// beside the other, nearer to it than half the length of the shorter one.
bool one_above_other(Contour const& a, Contour const& b);

} // namespace restep::finish
