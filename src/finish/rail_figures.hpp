#pragma once

#include "cutter/cusp_row.hpp"
#include "cutter/finish_target.hpp"
#include "cutter/tool.hpp"
#include "finish/rail_rows.hpp"
#include "finish/rails.hpp"
#include "finish/shape.hpp"

#include <cstddef>
#include <optional>
#include <vector>

namespace restep::finish {

/// A level over a surface told by rails, as it is written: one that the program has, or a new one.
struct RailLevel {
  double exact = 0; ///< the height that its contours belong to
  double z = 0;     ///< as written
  RailRow row;
  std::optional<std::size_t> own{}; ///< its number from the top among the program's levels
  ShapedLevel shaped{};             ///< of a new one
};

/// The finish figures of levels as they are written, in the sections of all rails. The figure of a pair of
/// levels is that of the rail where it is largest; a level that its neighbours cut away in a rail's section
/// leaves nothing there (cutter/cusp_row).
struct RailFigures {
  double figure_max = 0;             ///< mm, by target kind
  double figure_between_new = 0;     ///< the same without peaks that the program's own levels have a part in
  double cusp_min = 0, cusp_max = 0; ///< mm; the smallest of the pairs that the target rules
  double ra_max = 0;
  double stepdown_min = 0, stepdown_max = 0;
  std::vector<double> figures; ///< mm, by target kind, the largest between each level and the next
  std::vector<double> cusps;   ///< mm, the same
};

RailFigures measure_rail_levels(RailSurface const& surface, cutter::Tool const& tool,
                                cutter::FinishTarget const& target, std::vector<RailLevel> const& levels);

/// The figure that a target limits of a peak in a rail's section, mm.
double rail_figure(cutter::FinishKind kind, cutter::Tool const& tool, Rail const& rail,
                   cutter::CuspRow::Peak const& peak);

} // namespace restep::finish
