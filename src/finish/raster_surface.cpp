#include "finish/raster_surface.hpp"

#include "geometry/constants.hpp"

#include <algorithm>
#include <cmath>

namespace restep::finish {

namespace {

using geometry::infinite;

// A kink is missed by at least 1/12 of what its slopes differ over one interval and told wrong by at most
// 3/16.
constexpr double kinked = 2.25;
constexpr double smooth = 0.5;
// Half a digit in each of five values with the weights 1, 2/3, 2/3, 1/6, 1/6.
constexpr double missed_by_digits = 1.4;
// The same with the weights of a place half way, 9/16, 9/16, 1/16, 1/16.
constexpr double told_by_digits = 0.65;

// Value i told by the four nearest others, as even about it as can be; by fewer where there are fewer.
double missed_at(double const* places, double const* values, int count, int i) {
  int const others = std::min(4, count - 1);
  int const first = std::clamp(i - others / 2, 0, count - others - 1);
  double x[4];
  double y[4];
  int n = 0;
  for (int j = first; n < others; ++j)
    if (j != i) {
      x[n] = places[j];
      y[n++] = values[j];
    }
  return polynomial(x, y, n, places[i]) - values[i];
}

} // namespace

double polynomial(double const* places, double const* values, int count, double at) {
  double sum = 0;
  for (int i = 0; i < count; ++i) {
    double weight = 1;
    for (int j = 0; j < count; ++j)
      if (j != i) weight *= (at - places[j]) / (places[i] - places[j]);
    sum += weight * values[i];
  }
  return sum;
}

double telling_error(double const* missed, int count, double digit) {
  double largest = 0;
  double smallest = infinite;
  bool one_sign = true;
  for (int i = 0; i < count; ++i) {
    largest = std::max(largest, std::abs(missed[i]));
    smallest = std::min(smallest, std::abs(missed[i]));
    one_sign = one_sign && missed[i] * missed[0] > 0;
  }
  double const floor = told_by_digits * digit;
  if (one_sign && largest <= 4 * smallest) return floor + smooth * largest;
  return floor + kinked * std::max(0.0, largest - missed_by_digits * digit);
}

RasterCourse::RasterCourse(std::vector<Vec2> points, std::vector<std::uint32_t> steps, bool backwards,
                           double digit)
    : points_(std::move(points))
    , slopes_(points_.size())
    , steps_(std::move(steps))
    , backwards_(backwards)
    , digit_(digit) {
  std::size_t const n = points_.size();
  auto const chord = [&](std::size_t i) {
    return (points_[i + 1].y - points_[i].y) / (points_[i + 1].x - points_[i].x);
  };
  auto const gap = [&](std::size_t i) { return points_[i + 1].x - points_[i].x; };
  if (n == 2) {
    slopes_[0] = slopes_[1] = chord(0);
    return;
  }
  // The slope of the parabola through a point and its two neighbours.
  for (std::size_t i = 1; i + 1 < n; ++i)
    slopes_[i] = (gap(i) * chord(i - 1) + gap(i - 1) * chord(i)) / (gap(i - 1) + gap(i));
  slopes_[0] = 2 * chord(0) - slopes_[1];
  slopes_[n - 1] = 2 * chord(n - 2) - slopes_[n - 2];
}

double RasterCourse::chords() const {
  double largest = 0;
  for (std::size_t i = 0; i + 1 < points_.size(); ++i)
    largest =
        std::max(largest, std::abs(slopes_[i] - slopes_[i + 1]) * (points_[i + 1].x - points_[i].x) / 8);
  return largest;
}

// The first and the last points are told from one side, far worse than what lies between points: left out.
double RasterCourse::error() const {
  std::size_t const n = points_.size();
  double const floor = told_by_digits * digit_;
  // Too few to leave one out: a fourth of what a chord stands off what bends evenly.
  if (n < 6) return chords() / 4 + floor;
  double largest = floor;
  double missed[3] = {};
  for (std::size_t i = 2; i + 2 < n; ++i) {
    double places[5];
    double values[5];
    for (std::size_t j = 0; j < 5; ++j) {
      places[j] = points_[i - 2 + j].x;
      values[j] = points_[i - 2 + j].y;
    }
    missed[0] = missed[1];
    missed[1] = missed[2];
    missed[2] = missed_at(places, values, 5, 2);
    if (i >= 4) largest = std::max(largest, telling_error(missed, 3, digit_));
  }
  return largest;
}

std::size_t RasterCourse::stretch(double u) const {
  auto const above = std::upper_bound(points_.begin(), points_.end(), u,
                                      [](double value, Vec2 const& p) { return value < p.x; });
  auto const i = static_cast<std::size_t>(above - points_.begin());
  return std::min(i > 0 ? i - 1 : 0, points_.size() - 2);
}

double RasterCourse::at(double u) const {
  std::size_t const i = stretch(u);
  double const h = points_[i + 1].x - points_[i].x;
  double const t = (u - points_[i].x) / h;
  double const s = 1 - t;
  return s * s * (1 + 2 * t) * points_[i].y + t * t * (3 - 2 * t) * points_[i + 1].y +
         h * t * s * (s * slopes_[i] - t * slopes_[i + 1]);
}

double RasterCourse::slope(double u) const {
  std::size_t const i = stretch(u);
  double const h = points_[i + 1].x - points_[i].x;
  double const t = (u - points_[i].x) / h;
  return 6 * t * (1 - t) * (points_[i + 1].y - points_[i].y) / h + (1 - t) * (1 - 3 * t) * slopes_[i] +
         t * (3 * t - 2) * slopes_[i + 1];
}

double RasterCourse::lowest() const {
  return std::min_element(points_.begin(), points_.end(), [](Vec2 a, Vec2 b) { return a.y < b.y; })->y;
}
double RasterCourse::highest() const {
  return std::max_element(points_.begin(), points_.end(), [](Vec2 a, Vec2 b) { return a.y < b.y; })->y;
}

std::optional<RasterRow> row_of(RasterLine const& line, RasterFrame const& frame, double digit) {
  RasterRow row;
  row.v = line.v;
  for (RasterPiece const& piece : line.pieces) {
    std::vector<Vec2> points;
    points.reserve(piece.points.size());
    for (Vec3 const& p : piece.points)
      points.push_back({frame.own(geometry::xy(p)).x, p.z});
    std::vector<std::uint32_t> steps = piece.steps;
    bool const backwards = points.back().x < points.front().x;
    if (backwards) {
      std::reverse(points.begin(), points.end());
      std::reverse(steps.begin(), steps.end());
    }
    for (std::size_t i = 1; i < points.size(); ++i)
      if (!(points[i].x > points[i - 1].x)) return std::nullopt;
    row.pieces.emplace_back(std::move(points), std::move(steps), backwards, digit);
  }
  bool const backwards = row.pieces.front().backwards();
  if (backwards) std::reverse(row.pieces.begin(), row.pieces.end());
  for (std::size_t p = 0; p < row.pieces.size(); ++p) {
    if (row.pieces[p].backwards() != backwards) return std::nullopt;
    if (p > 0 && row.pieces[p].begin() < row.pieces[p - 1].end()) return std::nullopt;
  }
  return row;
}

RasterSurface::RasterSurface(std::vector<RasterRow> rows, double digit)
    : rows_(std::move(rows))
    , digit_(digit) {}

bool RasterSurface::matched(std::size_t k) const {
  RasterRow const& a = rows_[k];
  RasterRow const& b = rows_[k + 1];
  if (a.pieces.size() != b.pieces.size()) return false;
  for (std::size_t p = 0; p < a.pieces.size(); ++p)
    if (std::min(a.pieces[p].end(), b.pieces[p].end()) <= std::max(a.pieces[p].begin(), b.pieces[p].begin()))
      return false;
  return true;
}

Vec2 RasterSurface::range(std::size_t k, std::size_t p, double v) const {
  RasterCourse const& a = rows_[k].pieces[p];
  RasterCourse const& b = rows_[k + 1].pieces[p];
  double const t = (v - rows_[k].v) / (rows_[k + 1].v - rows_[k].v);
  return {a.begin() + t * (b.begin() - a.begin()), a.end() + t * (b.end() - a.end())};
}

// Up to `most` rows that follow each other, are cut at u and lie as evenly as can be about the strip from k
// to k + 1. One of the two may not be cut there: it is then told from its other side.
int RasterSurface::window(std::size_t k, std::size_t p, double u, int most, std::size_t* rows) const {
  std::size_t const pieces = rows_[k].pieces.size();
  auto const cut = [&](std::size_t j) {
    return rows_[j].pieces.size() == pieces && rows_[j].pieces[p].covers(u);
  };
  std::size_t low = k;
  std::size_t high = k + 1;
  if (!cut(k) && !cut(k + 1)) return 0;
  if (!cut(k)) low = k + 1;
  if (!cut(k + 1)) high = k;
  bool down = low == k;
  bool up = high == k + 1;
  while (high - low + 1 < static_cast<std::size_t>(most) && (down || up)) {
    bool const wants_down = down && (!up || k - low <= high - k - 1);
    if (wants_down) {
      down = low > 0 && cut(low - 1);
      if (down) --low;
    } else {
      up = high + 1 < rows_.size() && cut(high + 1);
      if (up) ++high;
    }
  }
  int count = 0;
  for (std::size_t j = low; j <= high; ++j)
    rows[count++] = j;
  return count;
}

std::optional<double> RasterSurface::at(std::size_t k, std::size_t p, double u, double v) const {
  std::size_t rows[4];
  int count = window(k, p, u, 4, rows);
  if (count < 3) return std::nullopt;
  std::size_t const* from = rows;
  // Beyond the end of one of its lines a strip is told by the three nearest.
  if (rows[count - 1] == k) from = rows + count - 3;
  if (rows[0] == k + 1 || rows[count - 1] == k) count = 3;
  double places[4];
  double values[4];
  for (int i = 0; i < count; ++i) {
    places[i] = rows_[from[i]].v;
    values[i] = rows_[from[i]].pieces[p].at(u);
  }
  return polynomial(places, values, count, v);
}

double RasterSurface::error_at(std::size_t k, std::size_t p, double u) const {
  std::size_t rows[8];
  int const count = window(k, p, u, 8, rows);
  if (count < 4) return infinite;
  double places[8];
  double values[8];
  int above = 0; // the first row at or above k + 1
  for (int i = 0; i < count; ++i) {
    places[i] = rows_[rows[i]].v;
    values[i] = rows_[rows[i]].pieces[p].at(u);
    if (rows[i] <= k) above = i + 1;
  }
  if (above == 0 || above == count) {
    // Beyond the end of a line: its neighbour told in the same way by the three behind it is missed by no
    // less.
    double x[3];
    double y[3];
    int const near = above == 0 ? 0 : count - 1;
    int const step = above == 0 ? 1 : -1;
    for (int i = 0; i < 3; ++i) {
      x[i] = places[near + (i + 1) * step];
      y[i] = values[near + (i + 1) * step];
    }
    return std::abs(polynomial(x, y, 3, places[near]) - values[near]) + digit_;
  }
  // The two beside the strip and one more to either side; those at the ends of the window are told from one
  // side only, far worse than what lies between.
  double missed[4];
  int n = 0;
  for (int i = std::max(1, above - 2); i <= std::min(count - 2, above + 1); ++i)
    missed[n++] = missed_at(places, values, count, i);
  return telling_error(missed, n, digit_);
}

std::optional<Vec2> RasterSurface::trusted(std::size_t k, std::size_t p, double allowed,
                                           double& worst) const {
  RasterCourse const& a = rows_[k].pieces[p];
  RasterCourse const& b = rows_[k + 1].pieces[p];
  double const along = std::max(a.error(), b.error());
  std::vector<double> places;
  for (RasterCourse const* course : {&a, &b})
    for (Vec2 const q : course->points())
      places.push_back(q.x);
  std::sort(places.begin(), places.end());
  double const middle = (std::max(a.begin(), b.begin()) + std::min(a.end(), b.end())) / 2;
  std::size_t rows[8];
  Vec2 range{middle, middle};
  auto const good = [&](double u) {
    double const error = along + error_at(k, p, u);
    if (error > allowed) return false;
    worst = std::max(worst, error);
    return true;
  };
  auto const start = std::lower_bound(places.begin(), places.end(), middle);
  auto up = start;
  while (up != places.end() && good(*up))
    range.y = *up++;
  auto down = start;
  while (down != places.begin() && good(*(down - 1)))
    range.x = *--down;
  // A place that enough lines tell must not be in doubt.
  for (double const u : places)
    if ((u < range.x || u > range.y) && a.covers(u) && b.covers(u) && window(k, p, u, 8, rows) >= 6 &&
        !good(u))
      return std::nullopt;
  if (!(range.y > range.x)) return std::nullopt;
  return range;
}

} // namespace restep::finish
