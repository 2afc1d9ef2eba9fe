#pragma once

#include "cutter/tool.hpp"
#include "finish/rails.hpp"
#include "motion/step.hpp"
#include "proof/pass_model.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <span>
#include <string>

namespace restep::proof {

/// What a pass on rails leaves, measured.
struct RailMeasure {
  PassMeasure pass; ///< without `sagitta`: new levels have the chords of their neighbours
  /// What the sections may be wrong by where a contour turns from one level to the next, mm: the outline of a
  /// level that crosses the section at the angle phi is wider there by 1 / cos phi, so that its contact, at
  /// most a tool radius from its axis, is displaced by R (1 / cos phi - 1).
  double section_error = 0;
};

/// Cuts a pass over a surface told by rails in a model and measures what it leaves.
///
/// The levels are found anew in `steps`. At every rail, in the vertical plane normal to the surface's contour
/// at the level's height, the level is where its own path crosses the section; the tool's outlines there
/// leave valleys and cusps that are measured against the rail's meridian (cutter/cusp_row). Leads and links
/// are followed in small steps: wherever the tip stands, it must not be nearer to the material than the
/// contours of that height. Ends of motions are taken on digits of `resolution` mm, as they will be written.
/// `threads` 0: as many as the machine has; the result is the same for any number. Fails in words when the
/// steps are no pass over this surface at all.
tl::expected<RailMeasure, std::string> measure_rail_pass(std::span<motion::Step const> steps,
                                                         finish::RailSurface const& surface,
                                                         cutter::Tool const& tool, double resolution,
                                                         std::size_t threads = 0);

} // namespace restep::proof
