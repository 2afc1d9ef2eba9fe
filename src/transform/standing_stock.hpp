#pragma once

#include "cutter/underside.hpp"
#include "geometry/vec.hpp"
#include "motion/step.hpp"
#include "transform/transform.hpp"

#include <cstddef>
#include <vector>

namespace restep::transform {

/// A rectangle in plan, mm.
struct Region {
  geometry::Vec2 low{}, high{};
};

/// What may still stand of the material, on the safe side: a cell counts as low only when the tool has passed
/// over the whole of it. Made for asking after every cut; the proofs have a field of points that is exact at
/// its points and knows nothing between them. Memory: 4 bytes a cell, at most `most_cells`.
class StandingStock {
public:
  static constexpr std::size_t most_cells = 2'000'000;

  /// Everything over the region stands up to `top` (mm). Cells are as large as `cell` (mm) or, where that
  /// would be too many, larger.
  StandingStock(Region region, double cell, double top);

  double cell() const { return cell_; }

  /// Nothing has been cut yet.
  void restore();

  /// Takes away what the tool passes on a cutting move between known places.
  void cut(motion::Motion const& cut, cutter::Underside const& tool);

  /// True when the tool, its tip at `z` or higher, meets nothing on the straight line between two places or,
  /// without `straight`, anywhere in the rectangle between them. It keeps `aside` away from what may stand
  /// beside it and `above` from what may stand below it. Beyond the region material may stand up to the top.
  bool clear(geometry::Vec2 from, geometry::Vec2 to, bool straight, double z, cutter::Underside const& tool,
             double aside, double above) const;

  /// The tip's height at which the middle of a tool, coming straight down, meets what nothing has cut yet
  /// inside a block of stock; -infinity where there is nothing.
  double standing_below(geometry::Vec2 at, cutter::Underside const& tool, Block const& stock) const;

private:
  geometry::Vec2 origin_{};
  double cell_;
  double top_;
  std::ptrdiff_t columns_, rows_;
  std::vector<float> heights_;
  motion::Vec3 stamped_ = motion::unknown_position; ///< where the tool was last taken into account

  struct Cells {
    std::ptrdiff_t first_column, last_column, first_row, last_row;
  };
  Cells cells_of(geometry::Vec2 low, geometry::Vec2 high) const;
  geometry::Vec2 middle(std::ptrdiff_t column, std::ptrdiff_t row) const;
  void stamp(motion::Vec3 tip, cutter::Underside const& tool);
};

} // namespace restep::transform
