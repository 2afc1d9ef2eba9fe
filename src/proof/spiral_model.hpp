#pragma once

#include "cutter/meridian.hpp"
#include "cutter/tool.hpp"
#include "finish/contour.hpp"
#include "motion/step.hpp"
#include "proof/spot.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace restep::proof {

/// The surface a spiral is meant to cut: everything that stands d from the closing turn at the height the
/// meridian has there.
struct SpiralSurface {
  std::vector<finish::Segment> const& loop; ///< the closing turn, d = 0
  double away = 0; ///< +1: away from the material is left of the course, -1: right, 0: a wall, side unknown
  cutter::Meridian const& meridian;
  cutter::Tool const& tool;
};

/// What a spiral leaves, measured, mm.
struct SpiralMeasure {
  Spot gouge;            ///< deepest cut of a written point below the intended surface, along its normal
  Spot chord_gouge;      ///< the same of the path between its points: chords of a round contour cut into it
  Spot peak;             ///< highest material left above the surface
  Spot cusp;             ///< largest cusp, peak to valley, between neighbouring turns
  double stands_off = 0; ///< farthest place of the path from the surface, to either side
  std::size_t turns = 0;
  std::size_t sections = 0;
};

/// Cuts a spiral in a model of the part and measures what it leaves.
///
/// `steps` are the spiral and its closing turn. In vertical sections normal to the closing turn, at even
/// distances all round, every turn is where its own path crosses the section, lines as lines and helical arcs
/// as arcs, at the height it has there; nothing of the planner's bookkeeping is used. A turn of the path that
/// is missing in some section, a path with a gap, or one that rises other than straight up,
/// is an error in words.
tl::expected<SpiralMeasure, std::string> measure_spiral(std::span<motion::Step const> steps,
                                                        SpiralSurface const& surface);

} // namespace restep::proof
