#include "transform/prove_spiral.hpp"

#include "geometry/constants.hpp"
#include "proof/spiral_model.hpp"
#include "transform/prove_region.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::transform {

namespace {

using geometry::um;

motion::Motion const* first_motion(std::span<motion::Step const> steps) {
  for (motion::Step const& s : steps)
    if (motion::Motion const* m = motion::motion_of(s)) return m;
  return nullptr;
}
motion::Motion const* last_motion(std::span<motion::Step const> steps) {
  for (std::size_t i = steps.size(); i-- > 0;)
    if (motion::Motion const* m = motion::motion_of(steps[i])) return m;
  return nullptr;
}

} // namespace

std::string prove_spiral(std::span<motion::Step const> before, finish::UnrolledSpiral const& spiral,
                         finish::SpiralOutcome& outcome, cutter::Tool const& tool, double resolution) {
  finish::PassReport& report = outcome.report;
  proof::SpiralSurface const surface{spiral.loop, spiral.away, *outcome.meridian, tool};
  auto const was = proof::measure_spiral(before, surface);
  auto const is = proof::measure_spiral(outcome.steps, surface);
  if (!is) return is.error();
  if (!was) return was.error();
  if (first_motion(before)->from != first_motion(outcome.steps)->from ||
      last_motion(before)->to != last_motion(outcome.steps)->to)
    return "the spiral does not begin and end where it did";
  report.gouge_um = um * is->gouge.value;
  report.peak_um = um * is->peak.value;
  report.written_cusp_um = um * is->cusp.value;
  // In a hollow of the contour a chord stands off the part, and the cusp beside it stands as much higher.
  if (report.target_um > 0 && std::max(report.written_cusp_um, report.peak_um) > 1.05 * report.target_um)
    report.reason += fmt::format("; digits ({} mm) and chords (within {:.1f} um, the program's own within "
                                 "{:.1f} um) of the path make single cusps of up to {:.2f} um and leave up "
                                 "to {:.2f} um of material",
                                 resolution, um * is->stands_off, um * was->stands_off,
                                 report.written_cusp_um, report.peak_um);

  // What the last digits of a point are worth along a normal, and what the program's own points scatter.
  double const digits = std::sqrt(0.5) * resolution;
  double const own = report.fit_residual_um / um + 1e-6;
  if (is->gouge.value > std::max(digits + own, was->gouge.value + 0.1 * resolution))
    return fmt::format("a new turn cuts {:.2f} um below the surface at {}, the program's own {:.2f} um",
                       um * is->gouge.value, place_of(is->gouge), um * was->gouge.value);
  // Between its points the program's chords cut into a round contour, and so do the new turns'.
  if (is->chord_gouge.value > was->chord_gouge.value + digits + own)
    return fmt::format("the chords of a new turn cut {:.2f} um below the surface at {}, those of the program "
                       "{:.2f} um",
                       um * is->chord_gouge.value, place_of(is->chord_gouge), um * was->chord_gouge.value);
  double const promised = std::max(report.after.cusp_max_um, report.target_um) / um;
  // Where the last turn meets the closing one a chord of the one may stand beside an arc of the other.
  if (is->cusp.value > 1.1 * promised + digits + own + was->stands_off)
    return fmt::format("a cusp of {:.2f} um is left at {}", um * is->cusp.value, place_of(is->cusp));
  return prove_region(before, outcome.steps, tool,
                      {.top = first_motion(before)->from.z,
                       .near = was->peak.value + was->stands_off + digits,
                       .stepdown = report.before.stepdown_max_mm});
}

} // namespace restep::transform
