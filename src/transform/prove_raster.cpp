#include "transform/prove_raster.hpp"

#include "geometry/constants.hpp"
#include "proof/raster_model.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::transform {

namespace {

using geometry::um;

// What stands above the target as measured, for the verdict; empty where nothing does.
std::string above_target(finish::PassReport const& report, double left_um, double resolution) {
  constexpr double slack = 1.05;
  std::string text;
  if (!(report.target_um > 0)) return text;
  if (report.written_cusp_um > slack * report.target_um)
    text = fmt::format("; chords (within {:.2f} um of their lines), the written digits ({} mm) and what the "
                       "surface is not known by make single cusps of up to {:.2f} um",
                       report.raster->chords_um, resolution, report.written_cusp_um);
  if (left_um > slack * report.target_um)
    text += fmt::format("; up to {:.2f} um are left where the program's lines stay as they were", left_um);
  return text;
}

} // namespace

std::string prove_raster(std::span<motion::Step const> before, finish::RasterOutcome& outcome,
                         cutter::Tool const& tool, double resolution) {
  finish::PassReport& report = outcome.report;
  auto const is = proof::measure_raster(before, outcome.steps, tool, outcome.kept);
  if (!is) return is.error();
  if (is->lines != report.after.levels)
    return fmt::format("the pass reads back with {} lines instead of {}", is->lines, report.after.levels);
  report.gouge_um = um * is->gouge.value;
  report.written_cusp_um = um * (is->cusp.value + is->grid);
  report.peak_um = std::max(report.written_cusp_um, um * is->kept.value);
  report.reason += above_target(report, um * is->kept.value, resolution);

  // What the last digits of a point are worth along a normal, what the surface between the lines is not known
  // by, and what chords as coarse as the program's own stand off it.
  double const digits = std::sqrt(0.5) * resolution + 1e-6;
  double const surface = report.raster->told_within_um / um;
  double const chords = report.raster->chords_um / um;
  if (is->gouge.value > digits + surface + chords)
    return fmt::format("a new line or link cuts {:.2f} um below the surface at {}", um * is->gouge.value,
                       place_of(is->gouge));
  double const promised = std::max(outcome.promised, report.target_um / um);
  if (is->cusp.value > 1.05 * promised + 2 * digits + surface + chords + is->grid)
    return fmt::format("a cusp of {:.2f} um is left at {}", um * is->cusp.value, place_of(is->cusp));
  if (is->kept_above.value > digits + 0.02 * promised)
    return fmt::format("material that the program cuts is left {:.2f} um high at {}",
                       um * is->kept_above.value, place_of(is->kept_above));
  if (is->outside.value > digits + surface + chords)
    return fmt::format("a new line or link cuts {:.2f} um deeper than the program at {}",
                       um * is->outside.value, place_of(is->outside));
  return {};
}

} // namespace restep::transform
