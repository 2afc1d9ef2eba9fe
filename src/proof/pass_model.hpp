#pragma once

#include "cutter/tool.hpp"
#include "finish/fit_meridian.hpp"
#include "finish/offsets.hpp"
#include "finish/stack.hpp"
#include "geometry/vec.hpp"
#include "motion/step.hpp"
#include "proof/spot.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>

namespace restep::proof {

/// The surface a pass is meant to cut: contours as functions of the offset d, and d as a function of height.
struct IntendedSurface {
  finish::Stack const& stack;
  finish::Offsets const& offsets;
  finish::MeridianFit const& fit;
  cutter::Tool const& tool;
};

/// What a pass leaves, measured, mm.
struct PassMeasure {
  Spot gouge;      ///< deepest cut of a level below the intended surface, along its normal
  Spot peak;       ///< highest material left above the intended surface, the levels' own place included
  Spot cusp;       ///< largest cusp, peak to valley
  Spot link_gouge; ///< deepest cut of a lead or link into the intended surface
  Spot sagitta;    ///< largest distance of a level's chord from the curve that it stands for
  std::size_t levels = 0;
  std::size_t sections = 0;
};

/// Cuts the pass in a model of the part and measures what it leaves.
///
/// The levels are found anew in `steps` (nothing of the planner's bookkeeping is used). In vertical sections
/// normal to the intended contours, at both ends and in the middle of every element, each level is where its
/// own path really crosses the section, lines as lines and arcs as arcs; the tool's outlines there leave
/// valleys and cusps that are measured against the meridian. Leads and links are followed in small steps:
/// wherever the tip stands, it must not be nearer to the material than the level of that height would be. In
/// a section the tool's outline is exact for straight walls and for contours concentric with the section's
/// element (surface normal in the section plane). Chords are taken as the curve that they stand for; what
/// they cut into it themselves is `sagitta`. Sections are shared out between `threads` threads (0: as many as
/// the machine has); the result is the same for any number. Fails in words when the steps are no pass over
/// this surface at all.
tl::expected<PassMeasure, std::string> measure_pass(std::span<motion::Step const> steps,
                                                    IntendedSurface const& surface, std::size_t threads = 0);

} // namespace restep::proof
