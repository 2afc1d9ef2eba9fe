#include "finish/raster_plan.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace restep::finish {

namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
// Places along a piece that rule; the surface between them is smooth, or the strip was not trusted.
constexpr std::size_t most_columns = 240;
// Worst places of a step that are followed while its size is sought.
constexpr std::size_t followed = 6;

} // namespace

RasterPlanner::RasterPlanner(RasterSurface const& surface, std::size_t first, std::size_t last,
                             RasterRule const& rule, cutter::FinishTarget const& target, double max_stepover)
    : rule_(rule)
    , target_(target)
    , max_stepover_(max_stepover) {
  auto const& rows = surface.rows();
  // Rows around the part help to tell what bends at its ends.
  for (std::size_t k = first; k <= last; ++k)
    v_.push_back(rows[k].v);
  for (std::size_t p = 0; p < rows[first].pieces.size(); ++p) {
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    std::size_t points = 0;
    for (std::size_t k = first; k <= last; ++k) {
      low = std::min(low, rows[k].pieces[p].begin());
      high = std::max(high, rows[k].pieces[p].end());
      points = std::max(points, rows[k].pieces[p].points().size());
    }
    std::size_t const count = std::clamp<std::size_t>(2 * points, 24, most_columns);
    for (std::size_t i = 0; i <= count; ++i) {
      double const u = low + (high - low) * static_cast<double>(i) / static_cast<double>(count);
      Column column;
      for (std::size_t k = first; k <= last; ++k) {
        RasterCourse const& course = rows[k].pieces[p];
        bool const cut = course.covers(u);
        column.z.push_back(cut ? course.at(u) : nothing);
        column.rise.push_back(cut ? course.slope(u) : nothing);
      }
      columns_.push_back(std::move(column));
    }
  }
}

std::size_t RasterPlanner::strip_of(double v) const {
  auto const above = std::upper_bound(v_.begin(), v_.end(), v);
  auto const i = static_cast<std::size_t>(above - v_.begin());
  return std::min(i > 0 ? i - 1 : 0, v_.size() - 2);
}

// The value at v by the four rows nearest to its strip; NaN where the strip is not cut on both sides.
double RasterPlanner::told(std::vector<double> const& values, std::size_t strip, double v) const {
  std::size_t low = strip;
  std::size_t high = strip + 1;
  if (std::isnan(values[low]) || std::isnan(values[high])) return nothing;
  bool down = true;
  bool up = true;
  while (high - low < 3 && (down || up)) {
    if (down && (!up || strip - low <= high - strip - 1)) {
      down = low > 0 && !std::isnan(values[low - 1]);
      if (down) --low;
    } else {
      up = high + 1 < values.size() && !std::isnan(values[high + 1]);
      if (up) ++high;
    }
  }
  return polynomial(v_.data() + low, values.data() + low, static_cast<int>(high - low + 1), v);
}

std::optional<RasterPlace> RasterPlanner::place_at(Column const& column, double v1, double v2) const {
  double const middle = (v1 + v2) / 2;
  std::size_t const strip = strip_of(middle);
  RasterPlace place{v1, told(column.z, strip_of(v1), v1), v2, told(column.z, strip_of(v2), v2), 0, 0};
  place.middle = told(column.z, strip, middle);
  if (std::isnan(place.z1) || std::isnan(place.z2) || std::isnan(place.middle)) return std::nullopt;
  double const t = (middle - v_[strip]) / (v_[strip + 1] - v_[strip]);
  place.rise = (1 - t) * column.rise[strip] + t * column.rise[strip + 1];
  return place;
}

double RasterPlanner::figure_at(Column const& column, double v1, double v2) const {
  auto const place = place_at(column, v1, v2);
  return place ? rule_.figure(target_, *place) : 0;
}

std::vector<RasterPair> RasterPlanner::figures(std::vector<double> const& places) const {
  std::vector<RasterPair> pairs;
  for (std::size_t i = 1; i < places.size(); ++i) {
    RasterPair pair{places[i - 1], places[i]};
    for (Column const& column : columns_)
      if (auto const place = place_at(column, places[i - 1], places[i])) pair.count(rule_, *place);
    pairs.push_back(pair);
  }
  return pairs;
}

double RasterPlanner::figure(double v1, double v2) const {
  double worst = 0;
  for (Column const& column : columns_)
    worst = std::max(worst, figure_at(column, v1, v2));
  return worst;
}

double RasterPlanner::worst(std::vector<double> const& places) const {
  double worst = 0;
  for (std::size_t i = 1; i < places.size(); ++i)
    worst = std::max(worst, figure(places[i - 1], places[i]));
  return worst;
}

// The figure grows about with the square of the step: guesses go by its root, inside what is known to be too
// small and too large. A few of the worst places are followed; all of them have the last word.
double RasterPlanner::largest_step(double v, double limit, double guess) const {
  constexpr double close = 1e-4; // of the limit
  double const most = std::min(max_stepover_, v_.back() - v);
  double const floor = 1e-6 * (v_.back() - v_.front());
  if (most <= floor) return most;
  std::vector<std::pair<double, std::size_t>> order(columns_.size());
  std::vector<std::size_t> watched;
  auto const watch = [&](double step) {
    for (std::size_t i = 0; i < columns_.size(); ++i)
      order[i] = {-figure_at(columns_[i], v, v + step), i};
    std::size_t const n = std::min(followed, order.size());
    std::partial_sort(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(n), order.end());
    for (std::size_t i = 0; i < n; ++i)
      if (std::find(watched.begin(), watched.end(), order[i].second) == watched.end())
        watched.push_back(order[i].second);
    return -order.front().first;
  };
  double step = std::clamp(guess, floor, most);
  watch(step);
  for (int round = 0; round < 6; ++round) {
    double low = 0;
    double high = std::numeric_limits<double>::infinity();
    for (int i = 0; i < 40; ++i) {
      double got = 0;
      for (std::size_t const w : watched)
        got = std::max(got, figure_at(columns_[w], v, v + step));
      if (got <= limit) {
        low = step;
        if (got >= limit * (1 - close) || step >= most) break;
      } else {
        high = step;
      }
      double next = got > 0 && std::isfinite(got) ? step * std::sqrt(limit * (1 - close / 2) / got)
                    : got > 0                     ? step / 2
                                                  : 2 * step;
      if (!(next > low && next < high)) next = std::isfinite(high) ? (low + high) / 2 : 2 * step;
      if (high - low < close * step * 0.1) break;
      step = std::clamp(next, floor, most);
      if (step == floor) break;
    }
    step = low > 0 ? low : floor;
    if (watch(step) <= limit * (1 + 1e-9)) return step;
  }
  return floor;
}

std::vector<double> RasterPlanner::march(double limit, std::size_t most) const {
  std::vector<double> places{v_.front()};
  double step = v_.size() > 1 ? v_[1] - v_[0] : 0;
  while (places.size() <= most && places.back() < v_.back()) {
    step = largest_step(places.back(), limit, step);
    bool const there = places.back() + step >= v_.back() - 1e-9 * (v_.back() - v_.front());
    places.push_back(there ? v_.back() : places.back() + step);
  }
  return places;
}

std::vector<double> RasterPlanner::spread(double limit, std::size_t steps) const {
  std::vector<double> best = march(limit, steps);
  double high = limit;
  double low = 0;
  for (int round = 0; round < 14; ++round) {
    double const middle = low > 0 ? (low + high) / 2 : high * 0.8;
    std::vector<double> places = march(middle, steps);
    if (places.back() < v_.back()) {
      low = middle;
    } else {
      high = middle;
      best = std::move(places);
    }
    if (low > 0 && high - low < 0.002 * high) break;
  }
  // Fewer steps than asked for: the longest is parted. (Only where a figure jumps.)
  while (best.size() < steps + 1) {
    std::size_t longest = 1;
    for (std::size_t i = 1; i < best.size(); ++i)
      if (best[i] - best[i - 1] > best[longest] - best[longest - 1]) longest = i;
    best.insert(best.begin() + static_cast<std::ptrdiff_t>(longest), (best[longest - 1] + best[longest]) / 2);
  }
  return best;
}

std::size_t RasterPlanner::equal_steps(double limit, std::size_t least, std::size_t most) const {
  auto const meets = [&](std::size_t n) {
    std::vector<double> places;
    for (std::size_t i = 0; i <= n; ++i)
      places.push_back(v_.front() +
                       (v_.back() - v_.front()) * static_cast<double>(i) / static_cast<double>(n));
    return worst(places) <= limit;
  };
  std::size_t enough = least;
  while (!meets(enough)) {
    least = enough + 1;
    enough += enough / 8 + 1;
    if (enough > most) return 0;
  }
  while (least < enough) {
    std::size_t const middle = (least + enough) / 2;
    if (meets(middle))
      enough = middle;
    else
      least = middle + 1;
  }
  return enough;
}

} // namespace restep::finish
