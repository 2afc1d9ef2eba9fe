#include "proof/region_model.hpp"

#include "finish/contour.hpp"
#include "motion/arc.hpp"
#include "proof/height_field.hpp"

#include <algorithm>
#include <cmath>

namespace restep::proof {

namespace {

using geometry::Vec2;

constexpr double most_cells = 30'000;
constexpr double cells_in_reach = 3;

// What the known motions reach in plan.
finish::Extent extent_of(std::span<motion::Step const> steps) {
  finish::Extent e;
  for (motion::Step const& step : steps) {
    motion::Motion const* m = motion::motion_of(step);
    if (m == nullptr || !motion::is_known(m->from) || !motion::is_known(m->to)) continue;
    motion::Box const box = motion::bounds(*m);
    e.add(geometry::xy(box.low));
    e.add(geometry::xy(box.high));
  }
  return e;
}

// The tool with a skin all round; its tip lies lower by as much.
cutter::Tool thicker(cutter::Tool tool, double skin) {
  tool.diameter += 2 * skin;
  tool.corner_radius += skin;
  return tool;
}

} // namespace

RegionMeasure measure_region(std::span<motion::Step const> before, std::span<motion::Step const> after,
                             cutter::Tool const& tool, double near, double top) {
  RegionMeasure measure;
  finish::Extent const extent = extent_of(after);
  if (!(extent.low.x <= extent.high.x)) return measure;
  cutter::Underside const underside(tool);
  Vec2 const margin{underside.reach(), underside.reach()};
  Vec2 const low = extent.low - margin;
  Vec2 const high = extent.high + margin;
  double const cell = std::max(underside.reach() / cells_in_reach,
                               std::sqrt((high.x - low.x) * (high.y - low.y) / most_cells));
  HeightGrid const grid = HeightGrid::over(low, high, {cell, cell});
  measure.points = grid.points();

  HeightField is(grid, top);
  HeightField was(grid, top + near);
  is.cut(after, underside);
  was.cut(before, cutter::Underside(thicker(tool, near)));
  for (std::size_t r = 0; r < grid.rows; ++r)
    for (std::size_t c = 0; c < grid.columns; ++c)
      keep(measure.beyond, was.height(c, r) - near - is.height(c, r),
           geometry::at_height(grid.place(c, r), is.height(c, r)));
  return measure;
}

} // namespace restep::proof
