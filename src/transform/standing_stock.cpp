// The way of a tool is a row of places no further apart than half a cell. At each one the tool's underside
// was there in truth, so that a cell all of whose points lie under it stands no higher than the underside at
// the point farthest from the axis. What falls between two places, or under a part of a cell only, goes on
// standing.

#include "transform/standing_stock.hpp"

#include "motion/arc.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace restep::transform {

using geometry::Vec2;
using motion::Vec3;

namespace {

constexpr double half_diagonal = std::numbers::sqrt2 / 2; // of a cell, in cells

/// To the next height that a float can say.
float rounded_up(double z) {
  return std::nextafter(static_cast<float>(z), std::numeric_limits<float>::infinity());
}

double cell_for(Region region, double wanted) {
  double const width = region.high.x - region.low.x, depth = region.high.y - region.low.y;
  double cell = wanted;
  while ((std::ceil(width / cell) + 1) * (std::ceil(depth / cell) + 1) > StandingStock::most_cells)
    cell *= 1.25;
  return cell;
}

double distance_to_segment(Vec2 p, Vec2 a, Vec2 b) {
  Vec2 const way = b - a;
  double const square = dot(way, way);
  double const share = square > 0 ? std::clamp(dot(p - a, way) / square, 0.0, 1.0) : 0;
  return length(p - (a + share * way));
}

double distance_to_box(Vec2 p, Vec2 low, Vec2 high) {
  return std::hypot(std::max({low.x - p.x, 0.0, p.x - high.x}), std::max({low.y - p.y, 0.0, p.y - high.y}));
}

} // namespace

StandingStock::StandingStock(Region region, double cell, double top)
    : origin_(region.low)
    , cell_(cell_for(region, cell))
    , top_(top)
    , columns_(static_cast<std::ptrdiff_t>(std::ceil((region.high.x - region.low.x) / cell_)) + 1)
    , rows_(static_cast<std::ptrdiff_t>(std::ceil((region.high.y - region.low.y) / cell_)) + 1)
    , heights_(static_cast<std::size_t>(columns_ * rows_), rounded_up(top)) {}

void StandingStock::restore() {
  std::fill(heights_.begin(), heights_.end(), rounded_up(top_));
  stamped_ = motion::unknown_position;
}

StandingStock::Cells StandingStock::cells_of(Vec2 low, Vec2 high) const {
  auto const index = [this](double from_origin) {
    return static_cast<std::ptrdiff_t>(std::floor(from_origin / cell_));
  };
  return {index(low.x - origin_.x), index(high.x - origin_.x), index(low.y - origin_.y),
          index(high.y - origin_.y)};
}

Vec2 StandingStock::middle(std::ptrdiff_t column, std::ptrdiff_t row) const {
  return {origin_.x + (static_cast<double>(column) + 0.5) * cell_,
          origin_.y + (static_cast<double>(row) + 0.5) * cell_};
}

void StandingStock::cut(motion::Motion const& cut, cutter::Underside const& tool) {
  if (!motion::is_known(cut.from) || !motion::is_known(cut.to)) {
    stamped_ = motion::unknown_position;
    return;
  }
  double const step = cell_ / 2;
  double const long_way = motion::length(cut);
  auto const away = [this](Vec3 p) { return distance(geometry::xy(p), geometry::xy(stamped_)); };
  auto const places = static_cast<int>(std::min(long_way / step, 1e8));
  for (int i = 0; i <= places; ++i) {
    Vec3 const tip = motion::point_at(cut, places > 0 ? static_cast<double>(i) / (places + 1) : 0);
    if (away(tip) < step && tip.z >= stamped_.z) continue;
    stamp(tip, tool);
  }
  if (!(away(cut.to) < step / 2) || cut.to.z < stamped_.z) stamp(cut.to, tool);
}

void StandingStock::stamp(Vec3 tip, cutter::Underside const& tool) {
  stamped_ = tip;
  Vec2 const axis = geometry::xy(tip);
  double const reach = tool.reach();
  Cells const cells = cells_of(axis - Vec2{reach, reach}, axis + Vec2{reach, reach});
  double const half = cell_ / 2;
  for (std::ptrdiff_t row = std::max<std::ptrdiff_t>(0, cells.first_row);
       row <= std::min(rows_ - 1, cells.last_row); ++row) {
    for (std::ptrdiff_t column = std::max<std::ptrdiff_t>(0, cells.first_column);
         column <= std::min(columns_ - 1, cells.last_column); ++column) {
      float& height = heights_[static_cast<std::size_t>(row * columns_ + column)];
      if (!(tip.z < height)) continue;
      Vec2 const to_middle = middle(column, row) - axis;
      double const farthest = std::hypot(std::abs(to_middle.x) + half, std::abs(to_middle.y) + half);
      if (farthest > reach) continue;
      height = std::min(height, rounded_up(tip.z + tool.height(farthest)));
    }
  }
}

bool StandingStock::clear(Vec2 from, Vec2 to, bool straight, double z, cutter::Underside const& tool,
                          double aside, double above) const {
  Vec2 const low{std::min(from.x, to.x), std::min(from.y, to.y)};
  Vec2 const high{std::max(from.x, to.x), std::max(from.y, to.y)};
  double const far = tool.reach() + aside;
  Cells const cells = cells_of(low - Vec2{far, far}, high + Vec2{far, far});
  for (std::ptrdiff_t row = cells.first_row; row <= cells.last_row; ++row) {
    for (std::ptrdiff_t column = cells.first_column; column <= cells.last_column; ++column) {
      Vec2 const p = middle(column, row);
      double const away = (straight ? distance_to_segment(p, from, to) : distance_to_box(p, low, high)) -
                          half_diagonal * cell_;
      if (away > far) continue;
      bool const outside = row < 0 || column < 0 || row >= rows_ || column >= columns_;
      double const stands = outside ? top_ : heights_[static_cast<std::size_t>(row * columns_ + column)];
      // The tool is wider by `aside` than it is.
      if (stands > z - above + tool.height(std::max(0.0, away - aside))) return false;
    }
  }
  return true;
}

double StandingStock::standing_below(Vec2 at, cutter::Underside const& tool, Block const& stock) const {
  // A tool that went down here before has cleared all cells but those at its rim.
  double const core = tool.reach() - 3 * half_diagonal * cell_;
  double highest = -std::numeric_limits<double>::infinity();
  if (core < 0) return highest;
  Cells const cells = cells_of(at - Vec2{core, core}, at + Vec2{core, core});
  for (std::ptrdiff_t row = std::max<std::ptrdiff_t>(0, cells.first_row);
       row <= std::min(rows_ - 1, cells.last_row); ++row) {
    for (std::ptrdiff_t column = std::max<std::ptrdiff_t>(0, cells.first_column);
         column <= std::min(columns_ - 1, cells.last_column); ++column) {
      Vec2 const p = middle(column, row);
      bool const in = p.x > stock.low.x && p.x < stock.high.x && p.y > stock.low.y && p.y < stock.high.y;
      if (!in || distance(p, at) > core) continue;
      double const height = heights_[static_cast<std::size_t>(row * columns_ + column)];
      double const stands = std::min(height, stock.high.z);
      highest = std::max(highest, stands - tool.height(std::min(tool.reach(), distance(p, at))));
    }
  }
  return highest;
}

} // namespace restep::transform
