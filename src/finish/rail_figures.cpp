#include "finish/rail_figures.hpp"

#include "geometry/in_parallel.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::finish {

double rail_figure(cutter::FinishKind kind, cutter::Tool const& tool, Rail const& rail,
                   cutter::CuspRow::Peak const& peak) {
  if (kind != cutter::FinishKind::ra || peak.cusp <= 0) return peak.cusp;
  return cutter::ra_between(tool, rail.meridian, peak.upper_tip, peak.lower_tip);
}

RailFigures measure_rail_levels(RailSurface const& surface, cutter::Tool const& tool,
                                cutter::FinishTarget const& target, std::vector<RailLevel> const& levels) {
  struct Pair {
    double cusp = 0, ra = 0;
    bool own = false; // one of the program's levels has a part in it
  };
  std::size_t const gaps = levels.empty() ? 0 : levels.size() - 1;
  std::vector<std::vector<Pair>> by_rail(surface.rails().size());
  geometry::in_parallel(by_rail.size(), [&](std::size_t i) {
    Rail const& rail = surface.rails()[i];
    cutter::CuspRow row(tool, rail.meridian);
    for (RailLevel const& level : levels)
      row.add(level.row.tips[i]);
    by_rail[i].resize(gaps);
    for (cutter::CuspRow::Peak const& peak : row.peaks()) {
      double const ra = rail_figure(cutter::FinishKind::ra, tool, rail, peak);
      // A level next to these may have cut a valley away.
      std::size_t const first = peak.upper > 0 ? peak.upper - 1 : 0;
      std::size_t const last = std::min(peak.lower + 1, gaps);
      bool const own = std::any_of(levels.begin() + static_cast<std::ptrdiff_t>(first),
                                   levels.begin() + static_cast<std::ptrdiff_t>(last) + 1,
                                   [](RailLevel const& level) { return level.own.has_value(); });
      for (std::size_t k = peak.upper; k < peak.lower; ++k)
        by_rail[i][k] = {peak.cusp, ra, own};
    }
  });
  RailFigures figures;
  figures.stepdown_min = std::numeric_limits<double>::infinity();
  bool const by_ra = target.kind == cutter::FinishKind::ra;
  for (std::size_t k = 0; k < gaps; ++k) {
    Pair worst;
    for (std::vector<Pair> const& pairs : by_rail) {
      worst.cusp = std::max(worst.cusp, pairs[k].cusp);
      worst.ra = std::max(worst.ra, pairs[k].ra);
      if (!pairs[k].own)
        figures.figure_between_new =
            std::max(figures.figure_between_new, by_ra ? pairs[k].ra : pairs[k].cusp);
    }
    double const drop = levels[k].z - levels[k + 1].z;
    figures.stepdown_min = std::min(figures.stepdown_min, drop);
    figures.stepdown_max = std::max(figures.stepdown_max, drop);
    figures.cusp_max = std::max(figures.cusp_max, worst.cusp);
    figures.ra_max = std::max(figures.ra_max, worst.ra);
    figures.cusps.push_back(worst.cusp);
    figures.figures.push_back(by_ra ? worst.ra : worst.cusp);
  }
  // Where the stepdown limit rules, cusps are smaller and say nothing about the finish asked for.
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < gaps; ++k)
    if (figures.cusps[k] > 0 && levels[k].z - levels[k + 1].z < 0.95 * figures.stepdown_max)
      least = std::min(least, figures.cusps[k]);
  figures.cusp_min = std::isfinite(least) ? least : figures.cusp_max;
  figures.figure_max = by_ra ? figures.ra_max : figures.cusp_max;
  return figures;
}

} // namespace restep::finish
