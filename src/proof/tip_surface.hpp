#pragma once

#include "cutter/underside.hpp"
#include "finish/raster_find.hpp"
#include "geometry/vec.hpp"

#include <cstddef>
#include <optional>
#include <vector>

namespace restep::proof {

/// The surface that the tip of a parallel pass follows, told by the points of its lines alone: polynomials
/// through four points along, through four lines across. In the coordinates (u, v) of the pass's frame.
class TipSurface {
public:
  explicit TipSurface(finish::RasterPass const& pass);

  struct Height {
    double z = 0;
    geometry::Vec2 slope{}; ///< by u and v
    double from_end = 0;    ///< how far the nearer end of the two neighbouring lines is, along them
  };
  /// None outside the lines: where not both neighbouring lines are cut, or fewer than three.
  std::optional<Height> at(geometry::Vec2 own) const;

  /// What a tool standing everywhere on the surface leaves at a point: the finished surface there, and where
  /// the tip stands that touches it. `near` is a first guess of that place. None where it stands outside the
  /// lines.
  struct Finished {
    double z = 0;
    geometry::Vec2 tip{};
    double steepness = 0; ///< tangent of the slope
    double from_end = 0;  ///< of the tip's place, see Height
  };
  std::optional<Finished> finished(geometry::Vec2 own, cutter::Underside const& tool,
                                   geometry::Vec2 near) const;

  geometry::Vec2 low() const { return low_; }
  geometry::Vec2 high() const { return high_; }

private:
  using Points = std::vector<geometry::Vec2>; // (u, z) in rising u
  struct Row {
    double v = 0;
    std::vector<Points> pieces;
  };
  static Points const* piece_at(Row const& row, double u);

  std::vector<Row> rows_; // in rising v
  geometry::Vec2 low_{}, high_{};
};

} // namespace restep::proof
