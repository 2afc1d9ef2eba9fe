#pragma once

#include "cutter/step_solver.hpp"
#include "finish/pass_report.hpp"

#include <algorithm>
#include <cstddef>
#include <limits>
#include <utility>
#include <vector>

namespace restep::finish {

/// Figures over all sections of a stack; the steps between sections have no known surface and are left out.
struct Figures {
  LevelFigures out;
  double figure_max = 0;
  bool any_cusp = false;

  void add(cutter::LevelFigures const& f, double cusp_min) {
    figure_max = std::max(figure_max, f.figure_max);
    if (f.cusp_max > 0) {
      out.cusp_min_um = any_cusp ? std::min(out.cusp_min_um, 1000 * cusp_min) : 1000 * cusp_min;
      any_cusp = true;
    }
    out.cusp_max_um = std::max(out.cusp_max_um, 1000 * f.cusp_max);
    out.ra_um = std::max(out.ra_um, 1000 * f.ra_max);
  }
  void finish(std::vector<geometry::Vec2> positions) {
    out.levels = positions.size();
    out.stepdown_min_mm = std::numeric_limits<double>::infinity();
    out.stepdown_max_mm = 0;
    for (std::size_t k = 1; k < positions.size(); ++k) {
      double const step = positions[k - 1].y - positions[k].y;
      out.stepdown_min_mm = std::min(out.stepdown_min_mm, step);
      out.stepdown_max_mm = std::max(out.stepdown_max_mm, step);
    }
    out.positions = std::move(positions);
  }
};

} // namespace restep::finish
