#include "transform/prove_rails.hpp"

#include "geometry/constants.hpp"
#include "proof/rail_model.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::transform {

namespace {

using geometry::um;

} // namespace

std::string prove_rails(std::span<motion::Step const> before, finish::PassOutcome& outcome,
                        cutter::Tool const& tool, double resolution) {
  finish::PassReport& report = outcome.report;
  auto const was = proof::measure_rail_pass(before, *outcome.rails, tool, resolution);
  auto const is = proof::measure_rail_pass(outcome.steps, *outcome.rails, tool, resolution);
  if (!is) return is.error();
  if (!was) return was.error();
  report.gouge_um = um * is->pass.gouge.value;
  report.peak_um = um * is->pass.peak.value;
  report.written_cusp_um = um * is->pass.cusp.value;
  report.surface_bound_um += um * is->section_error;

  // Half a digit in X and Y along a normal, and half a digit of height.
  double const digits = 1.25 * std::sqrt(0.5) * resolution + 1e-6;
  if (is->pass.gouge.value > std::max(digits, was->pass.gouge.value + 0.1 * resolution))
    return fmt::format("a new level cuts {:.2f} um below the surface at {}", um * is->pass.gouge.value,
                       place_of(is->pass.gouge));
  // A link is shaped from the program's own, whose digits the surface shows as its residual.
  if (is->pass.link_gouge.value > was->pass.link_gouge.value + 2 * digits + outcome.rails->residual())
    return fmt::format(
        "a link between two levels cuts {:.2f} um below the surface at {}, those of the program "
        "{:.2f} um",
        um * is->pass.link_gouge.value, place_of(is->pass.link_gouge), um * was->pass.link_gouge.value);
  // The levels were planned by what their written coordinates leave in these very sections.
  double const promised = std::max(report.after.cusp_max_um, report.target_um) / um;
  if (is->pass.cusp.value > 1.02 * promised + 0.1 * resolution + is->section_error)
    return fmt::format("a cusp of {:.2f} um is left at {}", um * is->pass.cusp.value,
                       place_of(is->pass.cusp));
  return {};
}

} // namespace restep::transform
