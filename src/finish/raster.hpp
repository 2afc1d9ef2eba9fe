#pragma once

#include "cutter/tool.hpp"
#include "finish/pass.hpp"
#include "finish/pass_report.hpp"
#include "finish/raster_find.hpp"
#include "finish/raster_lines.hpp"
#include "finish/raster_meter.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace restep::finish {

struct RasterOutcome {
  PassReport report; ///< times are left at 0: they are the caller's
  /// What takes the place of the steps from pass.first_step() to pass.last_step() when the pass was
  /// re-stepped.
  std::vector<motion::Step> steps;
  double allowed = 0;          ///< mm: what heights between the lines were allowed to err
  double promised = 0;         ///< mm: largest cusp between the new lines
  std::vector<KeptPlace> kept; ///< where none of them are
};

/// What a parallel pass is called in reports.
inline constexpr char const* parallel_pass = "parallel pass";

/// True for lines over a surface: not for levels of a wall or an incline that happen to be straight, which
/// are a stack's, nor for a floor that the tool leaves without cusps.
bool is_parallel_pass(RasterMeter const& meter, cutter::Tool const* tool);
bool is_parallel_pass(RasterPass const& pass, cutter::Tool const* tool);

/// Puts what was measured into a report.
void report_raster(PassReport& report, RasterFrame const& frame, RasterMeter const& meter);

/// Understands one parallel pass and, where asked and possible, gives it new lines.
///
/// rows in the pass's frame -> surface between them, with its error -> places across -> new lines -> links.
/// The first line and the last stay as they are, to the last digit; so do the two on both sides of a strip in
/// which the surface is not known. What cannot be done leaves the pass as it was, with the reason in the
/// report.
/// With `whole_strips` a strip whose surface is not known up to the ends of its lines is left as it was too;
/// without, new lines in it end where the knowledge ends, between two lines of the program that stay.
RasterOutcome restep_raster(std::span<motion::Step const> operation, RasterPass const& pass,
                            cutter::Tool const* tool, int tool_number, PassRequest const& request,
                            bool whole_strips = false);

} // namespace restep::finish
