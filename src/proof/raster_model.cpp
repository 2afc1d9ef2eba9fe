#include "proof/raster_model.hpp"

#include "geometry/in_parallel.hpp"
#include "motion/arc.hpp"
#include "proof/height_field.hpp"
#include "proof/tip_surface.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

namespace restep::proof {

namespace {

using geometry::Vec2;
using geometry::Vec3;
using motion::Step;

constexpr std::size_t most_points = 1'200'000;
constexpr std::size_t most_columns = 240;
// Points across the smallest stepover, and as many times finer where a cusp is highest.
constexpr double across_step = 14;
constexpr double finer = 16;
constexpr std::size_t looked_at_closely = 6;

tl::expected<finish::RasterPass, std::string> only_pass(std::span<Step const> steps,
                                                        cutter::Tool const& tool) {
  finish::RasterLimits limits;
  limits.max_stepover = std::max(tool.diameter, 1.0);
  auto passes = finish::find_rasters(steps, limits);
  if (passes.size() != 1)
    return tl::unexpected(
        fmt::format("the pass reads back as {} parallel passes instead of one", passes.size()));
  return std::move(passes.front());
}

bool same_line(finish::RasterLine const& a, finish::RasterLine const& b) {
  return a.pieces.size() == b.pieces.size() &&
         std::equal(
             a.pieces.begin(), a.pieces.end(), b.pieces.begin(),
             [](finish::RasterPiece const& p, finish::RasterPiece const& q) { return p.points == q.points; });
}

// What one row of points shows.
struct RowMeasure {
  Spot gouge, cusp, cusp_was, kept, kept_above, outside;
};

class RasterModel {
public:
  RasterModel(std::span<Step const> before, std::span<Step const> after, cutter::Tool const& tool,
              std::vector<finish::KeptPlace> const& kept, finish::RasterPass const& own,
              finish::RasterPass const& fresh)
      : before_(before)
      , after_(after)
      , underside_(tool)
      , kept_(kept)
      , frame_(own.frame)
      , surface_(own) {
    for (std::size_t k = 1; k < fresh.lines.size(); ++k) {
      double const step = std::abs(fresh.lines[k].v - fresh.lines[k - 1].v);
      narrow_ = std::min(narrow_, step);
      wide_new_ = std::max(wide_new_, step);
    }
    for (std::size_t k = 1; k < own.lines.size(); ++k)
      wide_ = std::max(wide_, std::abs(own.lines[k].v - own.lines[k - 1].v));
    measure_.lines = fresh.lines.size();
  }

  RasterMeasure run() {
    Vec2 const margin{wide_, wide_};
    Vec2 const low = surface_.low() - margin;
    Vec2 const high = surface_.high() + margin;
    double const rows = std::min(std::ceil((high.y - low.y) / (narrow_ / across_step)), most_points / 24.0);
    double const columns = std::clamp(std::floor(static_cast<double>(most_points) / rows), 24.0,
                                      static_cast<double>(most_columns));
    HeightGrid const grid =
        HeightGrid::over(low, high, {(high.x - low.x) / columns, (high.y - low.y) / rows}, frame_.angle);
    measure_.points = grid.points();
    HeightField was(grid, top());
    HeightField is(grid, top());
    was.cut(before_, underside_);
    is.cut(after_, underside_);
    look(was, is);
    look_closely(grid.cell);
    return measure_;
  }

private:
  // Higher than anything the tool leaves near its path.
  double top() const {
    double highest = -std::numeric_limits<double>::infinity();
    for (std::span<Step const> const steps : {before_, after_})
      for (Step const& step : steps)
        if (motion::Motion const* m = motion::motion_of(step);
            m != nullptr && motion::is_known(m->from) && motion::is_known(m->to))
          highest = std::max({highest, m->from.z, m->to.z});
    return highest + underside_.height(underside_.reach());
  }

  bool left_as_it_was(Vec2 tip) const {
    return std::any_of(kept_.begin(), kept_.end(), [&](finish::KeptPlace const& place) {
      return tip.x >= place.low.x && tip.x <= place.high.x && tip.y >= place.low.y && tip.y <= place.high.y;
    });
  }

  void look(HeightField const& was, HeightField const& is) {
    HeightGrid const& grid = is.grid();
    std::vector<RowMeasure> rows(grid.rows);
    std::vector<std::pair<double, Vec2>> crests(grid.rows);
    geometry::in_parallel(grid.rows, [&](std::size_t r) {
      Vec2 tip = frame_.own(grid.place(0, r));
      for (std::size_t c = 0; c < grid.columns; ++c) {
        Vec2 const plan = grid.place(c, r);
        Vec2 const own = frame_.own(plan);
        Vec3 const at = geometry::at_height(plan, is.height(c, r));
        auto const finished = surface_.finished(own, underside_, tip + Vec2{grid.cell.x, 0});
        if (!finished) {
          keep(rows[r].outside, lowest_near(was, c, r) - is.height(c, r), at);
          tip = own;
          continue;
        }
        tip = finished->tip;
        double const normal = 1 / std::hypot(1.0, finished->steepness);
        double const left = normal * (is.height(c, r) - finished->z);
        double const own_left = normal * (was.height(c, r) - finished->z);
        keep(rows[r].gouge, std::min(0.0, own_left) - left, at);
        keep(rows[r].cusp_was, own_left, at);
        if (finished->from_end < wide_new_) continue;
        if (left_as_it_was(tip)) {
          keep(rows[r].kept, left, at);
          keep(rows[r].kept_above, left - own_left, at);
        } else if (left > rows[r].cusp.value) {
          rows[r].cusp = {left, at, 0};
          crests[r] = {left, own};
        }
      }
    });
    for (RowMeasure const& row : rows) {
      keep(measure_.gouge, row.gouge);
      keep(measure_.cusp, row.cusp);
      keep(measure_.cusp_was, row.cusp_was);
      keep(measure_.kept, row.kept);
      keep(measure_.kept_above, row.kept_above);
      keep(measure_.outside, row.outside);
    }
    std::size_t const count = std::min(looked_at_closely, crests.size());
    std::partial_sort(crests.begin(), crests.begin() + static_cast<std::ptrdiff_t>(count), crests.end(),
                      [](auto const& a, auto const& b) { return a.first > b.first; });
    crests.resize(count);
    crests_ = std::move(crests);
  }

  // The lowest that was left within two stepovers.
  double lowest_near(HeightField const& field, std::size_t column, std::size_t row) const {
    HeightGrid const& grid = field.grid();
    auto const span = [&](double cell, std::size_t at, std::size_t count) {
      auto const reach = static_cast<std::size_t>(std::ceil(2 * wide_ / cell));
      return std::pair{at > reach ? at - reach : 0, std::min(count - 1, at + reach)};
    };
    auto const [c0, c1] = span(grid.cell.x, column, grid.columns);
    auto const [r0, r1] = span(grid.cell.y, row, grid.rows);
    double lowest = std::numeric_limits<double>::infinity();
    std::size_t const stride = std::max<std::size_t>(1, (r1 - r0) / 16);
    for (std::size_t c = c0; c <= c1; ++c) {
      for (std::size_t r = r0; r <= r1; r += stride)
        lowest = std::min(lowest, field.height(c, r));
      lowest = std::min(lowest, field.height(c, r1));
    }
    return lowest;
  }

  // Where the cusps are highest the field is cut once more, finer across.
  void look_closely(Vec2 cell) {
    for (auto const& [left, own] : crests_) {
      if (!(left > 0)) continue;
      Vec2 const reach{0, 1.5 * cell.y};
      HeightField field(HeightGrid::over(own - reach, own + reach, {cell.x, cell.y / finer}, frame_.angle),
                        top());
      field.cut(near(own, reach.y), underside_);
      double before = 0;
      for (std::size_t r = 0; r < field.grid().rows; ++r) {
        Vec2 const plan = field.grid().place(0, r);
        Vec2 const here = frame_.own(plan);
        auto const finished = surface_.finished(here, underside_, here);
        if (!finished || finished->from_end < wide_new_ || left_as_it_was(finished->tip)) continue;
        double const stands = (field.height(0, r) - finished->z) / std::hypot(1.0, finished->steepness);
        if (r > 0 && stands > measure_.cusp.value - 1e-4)
          measure_.grid = std::max(measure_.grid, std::abs(stands - before) / 2);
        before = stands;
        keep(measure_.cusp, stands, geometry::at_height(plan, field.height(0, r)));
      }
    }
  }

  // The new steps that can reach a place.
  std::vector<Step> near(Vec2 own, double width) const {
    std::vector<Step> steps;
    double const far = underside_.reach() + width;
    Vec2 const plan = frame_.plan(own);
    for (Step const& step : after_) {
      motion::Motion const* m = motion::motion_of(step);
      if (m == nullptr || !motion::is_known(m->from) || !motion::is_known(m->to)) continue;
      motion::Box const box = motion::bounds(*m);
      if (box.low.x <= plan.x + far && box.high.x >= plan.x - far && box.low.y <= plan.y + far &&
          box.high.y >= plan.y - far)
        steps.push_back(step);
    }
    return steps;
  }

  std::span<Step const> before_, after_;
  cutter::Underside underside_;
  std::vector<finish::KeptPlace> const& kept_;
  finish::RasterFrame frame_;
  TipSurface surface_;
  double narrow_ = std::numeric_limits<double>::infinity(); // stepover
  double wide_ = 0;
  double wide_new_ = 0;
  std::vector<std::pair<double, Vec2>> crests_;
  RasterMeasure measure_;
};

} // namespace

tl::expected<RasterMeasure, std::string> measure_raster(std::span<Step const> before,
                                                        std::span<Step const> after, cutter::Tool const& tool,
                                                        std::vector<finish::KeptPlace> const& kept) {
  auto const own = only_pass(before, tool);
  if (!own) return tl::unexpected(own.error());
  auto const fresh = only_pass(after, tool);
  if (!fresh) return tl::unexpected(fresh.error());
  if (!same_line(own->lines.front(), fresh->lines.front()) ||
      !same_line(own->lines.back(), fresh->lines.back()))
    return tl::unexpected(std::string("the first or the last line of the pass is not where it was"));
  return RasterModel(before, after, tool, kept, *own, *fresh).run();
}

} // namespace restep::proof
