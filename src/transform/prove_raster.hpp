#pragma once

#include "cutter/tool.hpp"
#include "finish/raster.hpp"
#include "motion/step.hpp"

#include <span>
#include <string>

namespace restep::transform {

/// Cuts a re-stepped parallel pass in the height field as it was and as it is, puts what was measured into
/// its report and says in words what is wrong with it; empty when nothing is. `resolution` is the last digit
/// that will be written, mm.
std::string prove_raster(std::span<motion::Step const> before, finish::RasterOutcome& outcome,
                         cutter::Tool const& tool, double resolution);

} // namespace restep::transform
