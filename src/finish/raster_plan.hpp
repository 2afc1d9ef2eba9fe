#pragma once

#include "cutter/finish_target.hpp"
#include "finish/raster_rule.hpp"
#include "finish/raster_surface.hpp"

#include <cstddef>
#include <limits>
#include <optional>
#include <vector>

namespace restep::finish {

/// Chooses the places of lines across a part of a pass, rows first to last of its surface, whose pieces
/// match.
///
/// A line lies at one v from end to end, so its worst place rules. The march takes the largest step whose
/// worst figure stays within the target; no other course takes fewer steps, because a larger start never ends
/// earlier. Then the same number of steps is marched with the lowest figure that still gets there, which
/// makes the steps' worst figures equal.
class RasterPlanner {
public:
  RasterPlanner(RasterSurface const& surface, std::size_t first, std::size_t last, RasterRule const& rule,
                cutter::FinishTarget const& target, double max_stepover);

  /// Places from the first row to the last, both included, each step's figure within `limit`; more than
  /// `most` steps are not taken (then the last place is short of the last row).
  std::vector<double> march(double limit, std::size_t most) const;
  /// So many steps with the lowest figure; `limit` is a figure that surely gets there in them.
  std::vector<double> spread(double limit, std::size_t steps) const;
  /// The worst figure of two lines, over all places along them.
  double figure(double v1, double v2) const;
  /// The worst of all pairs.
  double worst(std::vector<double> const& places) const;
  /// Their cusps.
  std::vector<RasterPair> figures(std::vector<double> const& places) const;
  /// The least number of equal steps that stay within the limit; 0 when more than `most` would be needed.
  std::size_t equal_steps(double limit, std::size_t least, std::size_t most) const;

private:
  /// Heights of the rows at one u of one piece; NaN where a row is not cut.
  struct Column {
    std::vector<double> z, rise;
  };
  double told(std::vector<double> const& values, std::size_t strip, double v) const;
  std::size_t strip_of(double v) const;
  std::optional<RasterPlace> place_at(Column const& column, double v1, double v2) const;
  double figure_at(Column const& column, double v1, double v2) const;
  double largest_step(double v, double limit, double guess) const;

  std::vector<double> v_; // of the rows
  std::vector<Column> columns_;
  RasterRule const& rule_;
  cutter::FinishTarget target_;
  double max_stepover_;
};

} // namespace restep::finish
