#pragma once

#include "cutter/underside.hpp"
#include "geometry/vec.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace restep::proof {

/// The points of a height field: a grid whose own axes are turned against those of the part. mm.
struct HeightGrid {
  geometry::Vec2 origin{}; ///< the point of column 0, row 0, in the coordinates of the part
  double angle = 0;        ///< of the grid's columns' direction (its first axis) from X, radians
  geometry::Vec2 cell{0.1, 0.1};
  std::size_t columns = 0, rows = 0;

  /// The coarsest grid, cells no larger than `cell`, that covers a rectangle told in the grid's own axes
  /// (those of the part turned by `angle` about its origin).
  static HeightGrid over(geometry::Vec2 low, geometry::Vec2 high, geometry::Vec2 cell, double angle = 0);

  geometry::Vec2 place(std::size_t column, std::size_t row) const;
  std::size_t points() const { return columns * rows; }
};

/// What stands of the material over a region, as heights at the points of a grid. The tool cuts it by its own
/// shape, straight in Z: overhangs are not seen.
///
/// The heights are those of the swept tool at the very points: exact for straight moves in any direction and
/// for arcs at constant height, and not too low by more than `chord_error` for helices and arcs in the planes
/// G18 and G19, which are cut as chords on their inside. Nothing is known between the points. Memory: 8 bytes
/// a point.
class HeightField {
public:
  static constexpr double chord_error = 2e-5; ///< mm

  HeightField(HeightGrid const& grid, double top);

  HeightGrid const& grid() const { return grid_; }
  double height(std::size_t column, std::size_t row) const { return heights_[row * grid_.columns + column]; }
  void set_height(std::size_t column, std::size_t row, double z);

  /// Takes away what the tool passes on its way, rapids included; motions with an unknown end are passed
  /// over. The order of the motions says nothing. The rows are shared among the machine's cores.
  void cut(std::span<motion::Step const> steps, cutter::Underside const& tool);

private:
  class Band;

  HeightGrid grid_;
  std::vector<double> heights_;
};

} // namespace restep::proof
