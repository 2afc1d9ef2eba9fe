#pragma once

#include "cutter/meridian.hpp"
#include "finish/spiral_unroll.hpp"

#include <tl/expected.hpp>

#include <string>

namespace restep::finish {

/// The surface that a spiral cuts.
struct SpiralFit {
  cutter::Meridian meridian;
  double residual = 0; ///< largest distance of what was fitted, mm
};

/// Fits a few lines and arcs to a spiral's points. `resolution` mm is the program's last digit. The error
/// says in the user's words why nothing explains them.
tl::expected<SpiralFit, std::string> fit_spiral(UnrolledSpiral const& spiral, double resolution);

} // namespace restep::finish
