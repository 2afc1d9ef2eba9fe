#pragma once

#include "finish/pass_report.hpp"
#include "finish/raster_rule.hpp"
#include "finish/raster_surface.hpp"

#include <cstddef>
#include <deque>
#include <optional>
#include <vector>

namespace restep::finish {

/// Puts the cusps of all pairs into figures.
void tell_pairs(std::vector<RasterPair> const& pairs, LevelFigures& figures);

/// Measures a parallel pass line by line, keeping four of them.
class RasterMeter {
public:
  /// Without a tool only lines, stepovers and slopes are measured.
  explicit RasterMeter(cutter::Tool const* tool);

  /// The next line across, in either sense of v.
  void add(RasterRow row);
  /// After the last line.
  void finish();

  std::size_t lines() const { return figures_.levels; }
  /// Lines as levels, stepovers as stepdowns; no positions, no time.
  LevelFigures figures() const;
  /// Each line and the next, in the order of the cut.
  std::vector<RasterPair> const& pairs() const { return pairs_; }
  double slope_min() const { return slope_min_; } ///< of the surface from horizontal, radians
  double slope_max() const { return slope_max_; }
  /// All lines have the same direction of cut.
  bool one_way() const { return one_way_; }
  /// Every line has one height of its own: levels of a wall or an incline, not lines over a surface; or, at
  /// one height all, a floor.
  bool all_level() const { return all_level_; }
  bool one_height() const { return all_level_ && lowest_ == highest_; }

private:
  void measure(std::size_t pair);

  std::optional<RasterRule> rule_;
  std::deque<RasterRow> rows_;
  std::size_t measured_ = 0; // pairs of the rows that are kept
  LevelFigures figures_;
  std::vector<RasterPair> pairs_;
  double slope_min_ = 0, slope_max_ = 0;
  bool one_way_ = true, all_level_ = true;
  double lowest_ = 0, highest_ = 0;
};

} // namespace restep::finish
