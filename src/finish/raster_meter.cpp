#include "finish/raster_meter.hpp"

#include "finish/contour.hpp"
#include "geometry/constants.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::finish {

namespace {

using geometry::um;
// Places along two neighbouring pieces at which they are measured.
constexpr std::size_t most_places = 400;

// The piece of a row that is cut at u.
RasterCourse const* piece_at(RasterRow const& row, double u) {
  for (RasterCourse const& piece : row.pieces)
    if (piece.covers(u)) return &piece;
  return nullptr;
}

} // namespace

void tell_pairs(std::vector<RasterPair> const& pairs, LevelFigures& figures) {
  double least = std::numeric_limits<double>::infinity();
  figures.cusp_max_um = figures.ra_um = 0;
  figures.pairs.clear();
  for (RasterPair const& pair : pairs) {
    figures.pairs.push_back({pair.from, pair.to, um * pair.most});
    least = std::min(least, pair.least);
    if (pair.most <= figures.cusp_max_um / um) continue;
    figures.cusp_max_um = um * pair.most;
    figures.ra_um = um * pair.ra;
  }
  figures.cusp_min_um = std::isfinite(least) ? um * least : 0;
}

RasterMeter::RasterMeter(cutter::Tool const* tool) {
  if (tool != nullptr) rule_.emplace(*tool);
  figures_.stepdown_min_mm = std::numeric_limits<double>::infinity();
  slope_min_ = std::numeric_limits<double>::infinity();
}

void RasterMeter::add(RasterRow row) {
  for (RasterCourse const& piece : row.pieces) {
    double const low = piece.lowest();
    double const high = piece.highest();
    all_level_ = all_level_ && high - low <= same_height;
    lowest_ = figures_.levels == 0 ? low : std::min(lowest_, low);
    highest_ = figures_.levels == 0 ? high : std::max(highest_, high);
  }
  if (!rows_.empty()) {
    one_way_ = one_way_ && row.pieces.front().backwards() == rows_.back().pieces.front().backwards();
    double const step = std::abs(row.v - rows_.back().v);
    figures_.stepdown_min_mm = std::min(figures_.stepdown_min_mm, step);
    figures_.stepdown_max_mm = std::max(figures_.stepdown_max_mm, step);
  }
  ++figures_.levels;
  rows_.push_back(std::move(row));
  // A pair is measured once the line behind it is known: it tells how the surface bends.
  while (measured_ + 2 < rows_.size())
    measure(measured_++);
  if (rows_.size() <= 3) return;
  rows_.pop_front();
  --measured_;
}

void RasterMeter::finish() {
  while (measured_ + 1 < rows_.size())
    measure(measured_++);
}

void RasterMeter::measure(std::size_t pair) {
  std::size_t const first = pair > 0 ? pair - 1 : 0;
  std::size_t const last = std::min(pair + 2, rows_.size() - 1);
  RasterRow const* a = &rows_[pair];
  RasterRow const* b = &rows_[pair + 1];
  if (b->v < a->v) std::swap(a, b);
  double const middle = (a->v + b->v) / 2;
  RasterPair found{a->v, b->v};
  for (RasterCourse const& course : a->pieces) {
    std::size_t const stride = (course.points().size() + most_places - 1) / most_places;
    for (std::size_t i = 0; i < course.points().size(); i += stride) {
      double const u = course.points()[i].x;
      RasterCourse const* const other = piece_at(*b, u);
      if (other == nullptr) continue;
      double places[4];
      double values[4];
      int count = 0;
      for (std::size_t k = first; k <= last; ++k)
        if (RasterCourse const* c = piece_at(rows_[k], u)) {
          places[count] = rows_[k].v;
          values[count++] = c->at(u);
        }
      RasterPlace place{a->v, course.at(u), b->v, other->at(u), 0, 0};
      place.middle = polynomial(places, values, count, middle);
      place.rise = (course.slope(u) + other->slope(u)) / 2;
      double const slope = std::atan(std::hypot(place.rise, place.rise_across()));
      slope_min_ = std::min(slope_min_, slope);
      slope_max_ = std::max(slope_max_, slope);
      if (!rule_) continue;
      found.count(*rule_, place);
    }
  }
  if (rule_) pairs_.push_back(found);
}

LevelFigures RasterMeter::figures() const {
  LevelFigures figures = figures_;
  tell_pairs(pairs_, figures);
  if (figures.levels < 2) figures.stepdown_min_mm = 0;
  return figures;
}

} // namespace restep::finish
