// A tile of the field remembers a plane that no point of it stands above. A motion whose tool cannot come
// below that plane is passed over without looking at the points, which is the rule where a pass has already
// been: so a few motions from all over the pass are cut first.

#include "proof/height_field.hpp"

#include "geometry/arc.hpp"
#include "geometry/in_parallel.hpp"
#include "motion/arc.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <thread>

namespace restep::proof {

using geometry::Vec2;
using geometry::Vec3;

namespace {

constexpr std::size_t tile_points = 64;
constexpr std::size_t first_round = 16; // every so many motions

// A motion in the grid's own axes, in mm from its origin.
struct Sweep {
  bool arc = false; // at constant height
  Vec3 from{}, to{};
  geometry::Arc2 course{};
};

} // namespace

HeightGrid HeightGrid::over(Vec2 low, Vec2 high, Vec2 cell, double angle) {
  HeightGrid grid;
  grid.angle = angle;
  grid.origin = geometry::Arc2::turned(low, angle);
  auto const fit = [](double width, double wanted, double& size, std::size_t& count) {
    auto const steps = static_cast<std::size_t>(std::max(1.0, std::ceil(width / wanted - 1e-9)));
    count = steps + 1;
    size = width > 0 ? width / static_cast<double>(steps) : wanted;
  };
  fit(high.x - low.x, cell.x, grid.cell.x, grid.columns);
  fit(high.y - low.y, cell.y, grid.cell.y, grid.rows);
  return grid;
}

Vec2 HeightGrid::place(std::size_t column, std::size_t row) const {
  Vec2 const own{static_cast<double>(column) * cell.x, static_cast<double>(row) * cell.y};
  return origin + geometry::Arc2::turned(own, angle);
}

// Sides of a tile in points: as square as it can be in the part.
struct TileShape {
  std::size_t columns = 8, rows = 8;

  explicit TileShape(Vec2 cell) {
    double const ratio = cell.y / cell.x;
    while (columns < tile_points && static_cast<double>(columns * columns) < ratio * tile_points / 2)
      columns *= 2;
    while (columns > 1 && static_cast<double>(columns * columns) > ratio * tile_points * 2)
      columns /= 2;
    rows = tile_points / columns;
  }
};

// The rows that one thread cuts; a multiple of a tile's.
class HeightField::Band {
public:
  Band(HeightField& field, cutter::Underside const& tool, std::size_t first_row, std::size_t last_row)
      : field_(field)
      , tool_(tool)
      , shape_(field.grid_.cell)
      , first_row_(first_row)
      , last_row_(last_row)
      , across_((field.grid_.columns + shape_.columns - 1) / shape_.columns)
      , tiles_(across_ * ((last_row - first_row + shape_.rows - 1) / shape_.rows)) {
    for (std::size_t r = 0; r * across_ < tiles_.size(); ++r)
      for (std::size_t c = 0; c < across_; ++c) {
        Tile& tile = tiles_[r * across_ + c];
        tile.first_row = first_row_ + r * shape_.rows;
        tile.last_row = std::min(last_row_, tile.first_row + shape_.rows);
        tile.first_column = c * shape_.columns;
        tile.last_column = std::min(field.grid_.columns, tile.first_column + shape_.columns);
        tile.low = point(tile.first_column, tile.first_row);
        tile.high = point(tile.last_column - 1, tile.last_row - 1);
        cap(tile);
      }
  }

  void cut(std::span<motion::Step const> steps, std::size_t every) {
    for (std::size_t i = 0; i < steps.size(); i += every) {
      motion::Motion const* m = motion::motion_of(steps[i]);
      if (m == nullptr || !motion::is_known(m->from) || !motion::is_known(m->to)) continue;
      cut(*m);
    }
  }

private:
  struct Tile {
    std::size_t first_row = 0, last_row = 0, first_column = 0, last_column = 0; // past the last
    Vec2 low{}, high{};
    // No point of the tile stands above cap + slope . (p - low).
    double cap = 0;
    Vec2 slope{};
    double highest = 0;
  };

  Vec2 point(std::size_t column, std::size_t row) const {
    return {static_cast<double>(column) * field_.grid_.cell.x,
            static_cast<double>(row) * field_.grid_.cell.y};
  }

  Vec3 own(Vec3 const& p) const {
    HeightGrid const& grid = field_.grid_;
    return geometry::at_height(geometry::Arc2::turned(geometry::xy(p) - grid.origin, -grid.angle), p.z);
  }

  void cut(motion::Motion const& m) {
    if (!motion::is_arc(m)) return cut({false, own(m.from), own(m.to), {}});
    if (m.plane == motion::Plane::xy && m.from.z == m.to.z) {
      Sweep sweep{true, own(m.from), own(m.to), {}};
      sweep.course = {geometry::xy(sweep.from), geometry::xy(sweep.to), geometry::xy(own(m.centre)),
                      m.path == motion::PathKind::arc_ccw};
      return cut(sweep);
    }
    // Chords over an angle t leave an arc by R (1 - cos(t/2)).
    double const radius = std::max(motion::radius(m), 10 * chord_error);
    double const most = 2 * std::acos(1 - chord_error / radius);
    auto const chords = static_cast<int>(std::ceil(motion::sweep(m) / most));
    Vec3 at = m.from;
    for (int k = 1; k <= chords; ++k) {
      Vec3 const to = motion::point_at(m, static_cast<double>(k) / chords);
      cut({false, own(at), own(to), {}});
      at = to;
    }
  }

  void cut(Sweep const& sweep) {
    Vec2 low{std::min(sweep.from.x, sweep.to.x), std::min(sweep.from.y, sweep.to.y)};
    Vec2 high{std::max(sweep.from.x, sweep.to.x), std::max(sweep.from.y, sweep.to.y)};
    if (sweep.arc) {
      double const reach = std::max(sweep.course.radius(), distance(sweep.course.centre, sweep.course.end));
      low = sweep.course.centre - Vec2{reach, reach};
      high = sweep.course.centre + Vec2{reach, reach};
    }
    double const far = tool_.reach();
    Vec2 const first = tiles_.front().low;
    Vec2 const last = tiles_.back().high;
    if (low.x - far > last.x || high.x + far < first.x || low.y - far > last.y || high.y + far < first.y)
      return;
    auto const index = [](double from_first, double cell, std::size_t points) {
      return static_cast<std::size_t>(std::max(0.0, from_first / cell)) / points;
    };
    Vec2 const cell = field_.grid_.cell;
    std::size_t const down = tiles_.size() / across_;
    std::size_t const c1 = std::min(across_ - 1, index(high.x + far - first.x, cell.x, shape_.columns));
    std::size_t const r1 = std::min(down - 1, index(high.y + far - first.y, cell.y, shape_.rows));
    for (std::size_t r = index(low.y - far - first.y, cell.y, shape_.rows); r <= r1; ++r)
      for (std::size_t c = index(low.x - far - first.x, cell.x, shape_.columns); c <= c1; ++c)
        if (Tile& tile = tiles_[r * across_ + c]; may_cut(tile, sweep)) cut_tile(tile, sweep);
  }

  bool may_cut(Tile const& tile, Sweep const& sweep) const {
    Vec2 const middle = 0.5 * (tile.low + tile.high);
    double const half = 0.5 * distance(tile.low, tile.high);
    if (sweep.arc) {
      double const away = distance(middle, sweep.course.at(sweep.course.nearest(middle)));
      return sweep.from.z + tool_.height(std::max(0.0, away - half)) < tile.highest;
    }
    // The part of the way from which the tool reaches the tile.
    Vec3 from = sweep.from;
    Vec3 to = sweep.to;
    Vec2 const way = geometry::xy(to) - geometry::xy(from);
    double const l2 = dot(way, way);
    double const far = tool_.reach() + half;
    if (l2 > far * far) {
      double const foot = dot(middle - geometry::xy(from), way) / l2;
      double const share = far / std::sqrt(l2);
      if (foot < -share || foot > 1 + share) return false;
      from = sweep.from + std::max(0.0, foot - share) * (sweep.to - sweep.from);
      to = sweep.from + std::min(1.0, foot + share) * (sweep.to - sweep.from);
    }
    // Where the tile's points stand as the tip sees them.
    Box const seen{{tile.low.x - std::max(from.x, to.x), tile.low.y - std::max(from.y, to.y)},
                   {tile.high.x - std::min(from.x, to.x), tile.high.y - std::min(from.y, to.y)}};
    double const away = length(seen.nearest({}));
    if (!(std::min(from.z, to.z) + tool_.height(away) < tile.highest)) return false;
    auto const over_plane = [&](Vec3 const& tip) {
      return tip.z - tile.cap - dot(tile.slope, geometry::xy(tip) - tile.low);
    };
    return std::min(over_plane(from), over_plane(to)) + least_less_slope(seen, tile.slope) < 0;
  }

  struct Box {
    Vec2 low{}, high{};
    Vec2 nearest(Vec2 p) const { return {std::clamp(p.x, low.x, high.x), std::clamp(p.y, low.y, high.y)}; }
  };

  // No more than the least of h(q) - g . q over a box, h being the height of the underside at q from the
  // axis. A convex function stands above its tangent plane at any point; taken is the one of the box nearest
  // to where the tool touches a plane of slope g.
  double least_less_slope(Box const& box, Vec2 g) const {
    double const steep = length(g);
    Vec2 const touch =
        steep > 0 ? (tool_.flat_radius() / steep + tool_.corner_radius() / std::hypot(1.0, steep)) * g
                  : Vec2{};
    Vec2 q = box.nearest(touch);
    double rho = length(q);
    double const inside = 0.999 * tool_.reach(); // at the widest place the tangent plane is upright
    if (rho > inside) {
      q = (inside / rho) * q;
      rho = inside;
    }
    Vec2 const d = (rho > 0 ? tool_.slope(rho) / rho : 0) * q - g;
    auto const lowest = [](double slope, double low, double high) {
      return std::min(slope * low, slope * high);
    };
    return tool_.height(rho) - dot(g, q) + lowest(d.x, box.low.x - q.x, box.high.x - q.x) +
           lowest(d.y, box.low.y - q.y, box.high.y - q.y);
  }

  void cut_tile(Tile& tile, Sweep const& sweep) {
    Vec2 const from = geometry::xy(sweep.from);
    Vec2 const way = geometry::xy(sweep.to) - from;
    double const l = geometry::length(way);
    Vec2 const along = l > 0 ? way / l : Vec2{1, 0};
    double const rise = l > 0 ? (sweep.to.z - sweep.from.z) / l : 0;
    double const still = std::min(sweep.from.z, sweep.to.z);
    bool lower = false;
    for (std::size_t row = tile.first_row; row < tile.last_row; ++row) {
      double* const heights = field_.heights_.data() + row * field_.grid_.columns;
      for (std::size_t column = tile.first_column; column < tile.last_column; ++column) {
        Vec2 const p = point(column, row);
        double z = 0;
        if (sweep.arc) {
          z = sweep.from.z + tool_.height(distance(p, sweep.course.at(sweep.course.nearest(p))));
        } else if (l > 0) {
          double const foot = dot(p - from, along);
          z = tool_.swept(cross(along, p - from), -foot, l - foot, sweep.from.z + rise * foot, rise);
        } else {
          z = still + tool_.height(distance(p, from));
        }
        if (!(z < heights[column])) continue;
        heights[column] = z;
        lower = true;
      }
    }
    if (lower) cap(tile);
  }

  // Lays the plane over the tile: its slope by the corners, its height by the highest point over that slope.
  void cap(Tile& tile) const {
    auto const at = [&](std::size_t column, std::size_t row) { return field_.height(column, row); };
    std::size_t const r0 = tile.first_row, r1 = tile.last_row - 1;
    std::size_t const c0 = tile.first_column, c1 = tile.last_column - 1;
    Vec2 const size = tile.high - tile.low;
    tile.slope = {c1 > c0 ? (at(c1, r0) - at(c0, r0) + at(c1, r1) - at(c0, r1)) / (2 * size.x) : 0,
                  r1 > r0 ? (at(c0, r1) - at(c0, r0) + at(c1, r1) - at(c1, r0)) / (2 * size.y) : 0};
    tile.cap = tile.highest = -std::numeric_limits<double>::infinity();
    for (std::size_t row = r0; row <= r1; ++row)
      for (std::size_t column = c0; column <= c1; ++column) {
        double const z = at(column, row);
        tile.highest = std::max(tile.highest, z);
        tile.cap = std::max(tile.cap, z - dot(tile.slope, point(column, row) - tile.low));
      }
  }

  HeightField& field_;
  cutter::Underside const& tool_;
  TileShape shape_;
  std::size_t first_row_, last_row_;
  std::size_t across_; // tiles in a row of tiles
  std::vector<Tile> tiles_;
};

HeightField::HeightField(HeightGrid const& grid, double top)
    : grid_(grid)
    , heights_(grid.points(), top) {}

void HeightField::set_height(std::size_t column, std::size_t row, double z) {
  heights_[row * grid_.columns + column] = z;
}

void HeightField::cut(std::span<motion::Step const> steps, cutter::Underside const& tool) {
  std::size_t const tall = TileShape(grid_.cell).rows;
  std::size_t const tiles = (grid_.rows + tall - 1) / tall;
  std::size_t const cores = std::max(1u, std::thread::hardware_concurrency());
  // Small work is not worth a thread.
  std::size_t const bands = steps.size() * grid_.points() < 200'000 ? 1 : std::min(cores, tiles);
  auto const work = [&](std::size_t b) {
    std::size_t const first = tiles * b / bands * tall;
    std::size_t const last = std::min(grid_.rows, tiles * (b + 1) / bands * tall);
    if (first >= last) return;
    Band band(*this, tool, first, last);
    if (steps.size() > 4 * first_round) band.cut(steps, first_round);
    band.cut(steps, 1);
  };
  geometry::in_parallel(bands, work);
}

} // namespace restep::proof
