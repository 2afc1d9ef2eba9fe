#pragma once

#include "cutter/meridian.hpp"
#include "cutter/tool.hpp"
#include "geometry/vec.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace restep::finish {

enum class PassStatus : std::uint8_t { restepped, kept };

/// Two neighbours: their heights, or their places across the lines of a parallel pass, and the largest cusp
/// between them.
struct PairFigure {
  double from_mm = 0, to_mm = 0;
  double cusp_um = 0;
};

/// The levels of a pass, before or after.
struct LevelFigures {
  std::size_t levels = 0;
  double stepdown_min_mm = 0, stepdown_max_mm = 0;
  double cusp_min_um = 0,
         cusp_max_um = 0; ///< peak to valley, between neighbouring levels at their written heights
  double ra_um = 0;       ///< largest, theoretical
  double time_s = 0;
  std::vector<geometry::Vec2> positions{}; ///< tip positions (d, z), from the top down
  std::vector<PairFigure> pairs{};         ///< in the order of the cut; only where no one meridian tells them
  double effective_diameter_mm = 0;        ///< that cuts at the largest stepdown; 0 when not known
  double chip_thinning = 0;                ///< thickest chip per feed per tooth there, by the rounded corner
                                           ///< alone; 0 when not known
  double stepover_max_mm = 0;              ///< largest step sideways: of a stack 0 at a vertical wall
  double radial_thinning = 0;              ///< the same by that step sideways alone; 0 when not known
  double spindle_rpm = 0;                  ///< as the machine runs it; 0 when none was given
  double feed_max_mm_min = 0;              ///< the fastest cut, as the machine runs it
  double cutting_speed_m_min = 0;          ///< at the effective diameter; 0 when not known
  double feed_per_tooth_mm = 0;            ///< of the fastest cut; 0 when the flutes are not known
  double thickest_chip_mm = 0;             ///< of the fastest cut, thinned both ways; 0 when not known
};

/// What a parallel pass has that a stack of levels has not. In its LevelFigures levels are lines and
/// stepdowns are stepovers, measured in plan; there are no positions.
struct RasterReport {
  double direction_deg = 0;                    ///< of the lines from X, from 0 to below 180
  double slope_min_deg = 0, slope_max_deg = 0; ///< of the surface from horizontal
  bool one_way = false;
  double told_within_um =
      0;                ///< bound of what the heights of the new lines err from the surface between the old
  double chords_um = 0; ///< how far the program's own chords stand off its surface
  std::size_t kept_strips =
      0; ///< strips between two lines that were left, because the surface in them is not known
};

/// Stands in PassReport::target_from for what is asked of every pass.
inline constexpr char const* asked_of_all = "all passes";

/// What was found about one finishing pass and what was done with it: one row of the report.
struct PassReport {
  std::size_t index = 0; ///< from 1, in program order
  std::uint32_t first_line = 0, last_line = 0;
  int tool = 0;
  std::string tool_text; ///< "bull 3 r0.3"
  std::string shape;     ///< "closed contours", "open contours", "spiral", "parallel pass"
  std::vector<cutter::Surface> surface;
  cutter::Meridian meridian;
  double fit_residual_um = 0;
  double surface_bound_um = 0; ///< passes on rails: how far the surface between the levels may be from what
                               ///< the levels say, along its normal
  double uncovered_mm =
      0; ///< height above the first level up to the round's tangency that the source did not cut
  std::size_t extended_levels = 0; ///< levels put above the program's first, up to that tangency
  double extended_mm = 0;          ///< how far they go up above it
  std::string not_extended{};      ///< why levels that were asked for were not put there; empty otherwise
  LevelFigures before, after;
  PassStatus status = PassStatus::kept;
  std::string reason;      ///< why it was kept, or what was done
  std::string target_text; ///< the finish asked for, in the user's words; empty when none
  std::string
      target_from;      ///< who asked: "all passes", or the place of the pass's own target; empty when nobody
  double target_um = 0; ///< the cusp (or Ra) asked for
  double gouge_um = 0;  ///< measured in the section model: deepest cut below the intended surface
  double peak_um = 0;   ///< measured: highest material left above it, rounding of the written digits included
  double written_cusp_um = 0;      ///< measured: largest cusp, peak to valley, of the written digits
  double constant_stepdown_mm = 0; ///< what constant stepdown would have reached the same target
  std::size_t constant_levels = 0;
  std::optional<RasterReport> raster{}; ///< of a parallel pass
};

/// The report of a pass of which nothing is known but where it stands in the program and what cuts it.
/// `steps`: from its first to its last; `tool` null: not in the table.
PassReport begun_report(std::span<motion::Step const> steps, cutter::Tool const* tool, int tool_number);

/// Takes back what was told of new levels: the pass stays as the program has it.
void keep_own(PassReport& report, std::string why);

} // namespace restep::finish
