#pragma once

#include "cutter/meridian.hpp"
#include "cutter/tool.hpp"
#include "geometry/vec.hpp"

#include <cstddef>
#include <vector>

namespace restep::cutter {

/// What a row of levels leaves standing, each of which may be off the surface by what its digits are worth.
///
/// Two neighbours leave a cusp only where no third level has cut it away. A level that stands off by more
/// than four times the cusp is wholly cut away by its neighbours: it leaves nothing, and these meet. The
/// outlines of one tool cross each other once, so what is left is told by the levels whose crossings with
/// their neighbours follow each other down the surface; a crossing is a peak where it lies between the places
/// that the two touch.
class CuspRow {
public:
  /// Both must outlive the row.
  CuspRow(Tool const& tool, Meridian const& meridian)
      : tool_(&tool)
      , meridian_(&meridian) {}

  /// A peak between two levels, by their numbers in the row and by where their tips stand.
  struct Peak {
    std::size_t upper = 0, lower = 0;
    Vec2 upper_tip{}, lower_tip{};
    double cusp = 0;   ///< mm above the mean of the valleys beside it
    double height = 0; ///< mm above the surface
  };

  /// The largest of the peaks that another level, below all others, would leave or change, if its tip stood
  /// there.
  Peak with(Vec2 tip) const;
  void add(Vec2 tip);

  /// What the row leaves, from the top down.
  std::vector<Peak> peaks() const;

private:
  struct Level {
    std::size_t number = 0;
    Vec2 tip{}, tangent{}, contact{};
    double off = 0; ///< its distance from the surface
    // What it leaves with the one above.
    bool one_edge = true; ///< nothing: both touch a sharp edge, or there is none
    Vec2 meeting{};
    double height = 0; ///< of the meeting, above the surface
    bool own = true;   ///< it is deepest below that meeting, and not above it where the other one has cut
    double valley = 0; ///< on the upper side of what it meets below: its own or, where that is cut away, of
                       ///< the level above
  };
  Level at(Vec2 tip) const;
  std::size_t meet(Level& next) const;
  /// The lower one has cut away what the upper one cuts deepest.
  static bool cuts_away(Level const& lower, Level const& upper);
  Peak peak(Level const& upper, Level const& lower, double valley_below) const;

  Tool const* tool_;
  Meridian const* meridian_;
  std::size_t count_ = 0;
  std::vector<Level> levels_; ///< those that leave something
};

} // namespace restep::cutter
