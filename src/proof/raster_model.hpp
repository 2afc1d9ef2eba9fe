#pragma once

#include "cutter/tool.hpp"
#include "finish/raster_lines.hpp"
#include "motion/step.hpp"
#include "proof/spot.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace restep::proof {

/// What a re-stepped parallel pass leaves, measured, mm.
struct RasterMeasure {
  Spot gouge;    ///< deepest cut below the surface that the program's own pass had not cut as deep, along its
                 ///< normal
  Spot cusp;     ///< highest material left above the surface, along its normal, where lines were chosen
  Spot kept;     ///< the same in places that were to be left as they were
  Spot cusp_was; ///< the same of the program's own pass
  Spot kept_above; ///< in places that were to be left as they were: material that the own pass had cut
  Spot outside;    ///< deepest cut beyond the lines' ends below all that the own pass left nearby
  double grid = 0; ///< what the cusps may stand above the highest measured, between the points
  std::size_t lines = 0;
  std::size_t points = 0;
};

/// Cuts a parallel pass as it was and as it is in height fields over its whole region and measures them
/// against the surface between the program's lines.
///
/// The lines are found anew in both; first and last must be where they were. The surface is that of the
/// program's points (TipSurface), which is what the tool would leave if it stood everywhere on it. Everything
/// cuts: lines, links and rapids. Where the surface is not told (beyond the ends of lines, in holes) only
/// cuts below everything that was left within two stepovers are found. Within one
/// stepover of the ends of lines, where a cusp would be cut from beyond them, cusps are not judged. `kept`
/// are the places that the new pass leaves as they were; there the own pass is the measure and not the
/// finish. Fails in words when the steps are no parallel pass any more.
tl::expected<RasterMeasure, std::string> measure_raster(std::span<motion::Step const> before,
                                                        std::span<motion::Step const> after,
                                                        cutter::Tool const& tool,
                                                        std::vector<finish::KeptPlace> const& kept);

} // namespace restep::proof
