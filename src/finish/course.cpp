#include "finish/course.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::finish {

namespace {

constexpr double largest_chord_sagitta = 0.02; // mm; no finishing pass is posted coarser
constexpr double line_ratio = 3;
constexpr double sharpest_chord_turn = 0.8; // radians

double turn_between(Segment const& before, Segment const& after) {
  Vec2 const u = before.direction_at_to();
  Vec2 const v = after.direction_at_from();
  double const sine = cross(u, v);
  double const cosine = dot(u, v);
  // The arc tangent's own series up to its fifth power: for the small turns between chords it is exact to
  // 1e-14 and far quicker.
  constexpr double small = 0.01;
  if (cosine > 0 && std::abs(sine) < small * cosine) {
    double const t = sine / cosine;
    return t * (1 - t * t * (1.0 / 3 - t * t / 5));
  }
  return std::atan2(sine, cosine);
}

// Where the course turns the other way at the one end, or hardly at all, the chord in between stands for no
// arc: digits would decide from level to level whether it does.
bool unlike(double one, double other) {
  constexpr double least_share = 0.1;
  if (one == 0 || other == 0) return false;
  return one * other < 0 ||
         std::min(std::abs(one), std::abs(other)) < least_share * std::max(std::abs(one), std::abs(other));
}

// Angle of the last chord of a curve: its turn against the one before is the mean of both angles, and that
// one's is about the turn at its far end, `beyond`. A line that ends there comes out as one.
double end_chord(double turn, double beyond) {
  if (beyond * turn <= 0) return turn;
  double const alpha = 2 * turn - beyond;
  return alpha * turn > 0 ? alpha : 0;
}

} // namespace

bool on_curve(Segment const& before, Segment const& after) {
  if (before.arc || after.arc) return false;
  double const turn = std::abs(turn_between(before, after));
  return turn <= sharpest_chord_turn &&
         std::min(before.length(), after.length()) * turn / 8 <= largest_chord_sagitta;
}

std::vector<double> bends_of(std::span<Segment const> segments, bool closed) {
  std::size_t const n = segments.size();
  // The turn at a vertex is shared by the two chords: tau = (alpha_before + alpha_after) / 2. Beside a
  // straight line all of it belongs to the half chord.
  std::vector<double> turn(n + 1, 0.0);
  for (std::size_t i = closed ? 0 : 1; i < n; ++i)
    if (on_curve(segments[(i + n - 1) % n], segments[i]))
      turn[i] = turn_between(segments[(i + n - 1) % n], segments[i]);
  turn[n] = closed ? turn[0] : 0;
  std::vector<double> bend(n, 0.0);
  for (std::size_t j = 0; j < n; ++j) {
    if (segments[j].arc) continue;
    double const own = segments[j].length();
    Segment const& before = segments[(j + n - 1) % n];
    Segment const& after = segments[(j + 1) % n];
    // Chords of one curve have about the same length; what is far longer than its neighbour is a line,
    // however small the turn, and all of the turn there is the neighbour's.
    auto const line_beside = [&](Segment const& neighbour) { return neighbour.length() > line_ratio * own; };
    auto const line_itself = [&](double tau, Segment const& neighbour) {
      return tau != 0 && own > line_ratio * neighbour.length();
    };
    if (line_itself(turn[j], before) || line_itself(turn[j + 1], after)) continue;
    double const first = turn[j] * (line_beside(before) ? 2 : 1);
    double const last = turn[j + 1] * (line_beside(after) ? 2 : 1);
    double alpha = 0.5 * (first + last);
    // Where the curve ends, at a corner, the chord beside it tells its share of the turn that they have in
    // common.
    if (turn[j] == 0 && turn[j + 1] != 0)
      alpha = line_beside(after) ? last : end_chord(last, turn[(j + 2) % n]);
    if (turn[j] != 0 && turn[j + 1] == 0)
      alpha = line_beside(before) ? first : end_chord(first, turn[(j + n - 1) % n]);
    if (own * std::abs(alpha) / 8 > largest_chord_sagitta || unlike(first, last)) continue;
    bend[j] = alpha;
  }
  return bend;
}

double largest_sagitta(std::span<Segment const> segments, bool closed) {
  std::vector<double> const bend = bends_of(segments, closed);
  double largest = 0;
  for (std::size_t j = 0; j < bend.size(); ++j)
    largest = std::max(largest, segments[j].length() * std::abs(bend[j]) / 8);
  return largest;
}

Course::Course(std::span<Segment const> segments, bool closed, double reach)
    : segments_(segments)
    , closed_(closed)
    , bend_(bends_of(segments, closed))
    , low_{1e300, 1e300}
    , high_{-1e300, -1e300} {
  length_.reserve(segments.size());
  for (Segment const& s : segments) {
    double const bulge = s.arc ? s.radius() : 0;
    Vec2 const middle = s.arc ? s.centre : s.from;
    low_ = {std::min({low_.x, middle.x - bulge, s.to.x}), std::min({low_.y, middle.y - bulge, s.to.y})};
    high_ = {std::max({high_.x, middle.x + bulge, s.to.x}), std::max({high_.y, middle.y + bulge, s.to.y})};
    length_.push_back(s.length());
  }
  double const side = std::max(high_.x - low_.x, high_.y - low_.y);
  constexpr double most_cells = 256; // along a side
  constexpr double rings = 8;        // of cells within reach
  reach_ = std::max({reach, side / 128, 1e-6});
  cell_ = std::max(reach_ / rings, side / most_cells);
}

std::int64_t Course::column(double x) const {
  return static_cast<std::int64_t>(std::floor((x - low_.x) / cell_));
}

std::int64_t Course::row(double y) const {
  return static_cast<std::int64_t>(std::floor((y - low_.y) / cell_));
}

void Course::lay_grid() const {
  columns_ = column(high_.x) + 1;
  rows_ = row(high_.y) + 1;
  struct Place {
    std::uint32_t cell, element;
  };
  std::vector<Place> places;
  places.reserve(2 * segments_.size());
  begin_.assign(static_cast<std::size_t>(columns_ * rows_) + 1, 0);
  for (std::size_t j = 0; j < segments_.size(); ++j) {
    auto const pieces = static_cast<int>(std::ceil(length_[j] / (0.5 * cell_))) + 1;
    std::uint32_t last = ~std::uint32_t{0};
    for (int i = 0; i <= pieces; ++i) {
      Vec2 const p = segments_[j].point_at(static_cast<double>(i) / pieces);
      std::int64_t const x = std::clamp<std::int64_t>(column(p.x), 0, columns_ - 1);
      std::int64_t const y = std::clamp<std::int64_t>(row(p.y), 0, rows_ - 1);
      auto const cell = static_cast<std::uint32_t>(y * columns_ + x);
      if (cell == last) continue;
      last = cell;
      places.push_back({cell, static_cast<std::uint32_t>(j)});
      ++begin_[cell + 1];
    }
  }
  for (std::size_t c = 1; c < begin_.size(); ++c)
    begin_[c] += begin_[c - 1];
  elements_.resize(places.size());
  std::vector<std::uint32_t> next(begin_.begin(), begin_.end() - 1);
  for (Place const place : places)
    elements_[next[place.cell]++] = place.element;
}

Vec2 Course::direction_at_vertex(std::size_t i) const {
  std::size_t const n = segments_.size();
  if (!closed_ && i == 0) return segments_.front().direction_at_from();
  if (!closed_ && i >= n) return segments_.back().direction_at_to();
  return normalized(segments_[(i + n - 1) % n].direction_at_to() + segments_[i % n].direction_at_from());
}

// False when the element is surely farther away than `least`.
bool Course::foot_on(std::size_t j, Vec2 p, double least, Foot& foot, double& away, Vec2& direction) const {
  Segment const& s = segments_[j];
  foot = {j, 0, 0, false};
  if (s.arc) {
    Vec2 const a = s.from - s.centre;
    Vec2 const b = p - s.centre;
    double angle = std::atan2(cross(a, b), dot(a, b)) * (s.ccw ? 1 : -1);
    double const sweep = length_[j] / s.radius();
    if (angle < 0) angle += 2 * std::numbers::pi;
    if (angle <= sweep) {
      foot.share = angle / sweep;
      direction = s.direction_at_share(foot.share);
      foot.left = (s.ccw ? 1 : -1) * (s.radius() - length(b));
      away = std::abs(foot.left);
      return true;
    }
    foot.share = angle - sweep < 2 * std::numbers::pi - angle ? 1 : 0;
  } else {
    Vec2 const from = p - s.from;
    double const bulge = length_[j] * std::abs(bend_[j]) / 8;
    double const farthest = least + bulge + length_[j];
    if (dot(from, from) > farthest * farthest) return false; // most are; nothing need be divided for them
    Vec2 const along = s.to - s.from;
    double const l2 = dot(along, along);
    foot.share = l2 > 0 ? std::clamp(dot(from, along) / l2, 0.0, 1.0) : 0;
    Vec2 const off = p - (s.from + foot.share * along);
    if (dot(off, off) > (least + bulge) * (least + bulge)) return false;
  }
  direction =
      s.arc ? (foot.share > 0 ? s.direction_at_to() : s.direction_at_from()) : normalized(s.to - s.from);
  Vec2 const at = foot.share >= 1 ? s.to : foot.share <= 0 ? s.from : s.point_at(foot.share);
  double const side = cross(direction, p - at);
  away = distance(p, at);
  if (foot.share <= 0 || foot.share >= 1) {
    foot.left = side < 0 ? -away : away;
  } else {
    // The curve stands off its chord to the right where the course turns left.
    foot.left = side + foot.share * (1 - foot.share) * length_[j] * bend_[j] / 2;
    away = std::abs(foot.left);
  }
  return true;
}

void Course::for_samples(std::function<void(Vec2, Vec2, double)> const& use) const {
  constexpr double long_element = 0.5; // mm
  for (std::size_t j = 0; j < segments_.size(); ++j) {
    Segment const& s = segments_[j];
    double const length = length_[j];
    if (bend_[j] == 0 && (s.arc || length > long_element)) {
      for (double const share : {0.125, 0.375, 0.625, 0.875})
        use(s.point_at(share), s.direction_at_share(share), length / 4);
    } else {
      use(s.from, direction_at_vertex(j), length / 2);
      use(s.to, direction_at_vertex(closed_ ? (j + 1) % segments_.size() : j + 1), length / 2);
    }
  }
}

void Course::try_element(std::size_t j, Search& search) const {
  double away = 0;
  Vec2 along{};
  Foot foot;
  if (!foot_on(j, search.p, search.least, foot, away, along)) return;
  if (away >= search.least || dot(along, search.direction) < search.alike) return;
  search.least = away;
  search.best = foot;
}

void Course::try_cells(Search& search) const {
  constexpr std::size_t few = 4; // elements: quicker asked one by one than found by their place
  if (segments_.size() <= few) {
    for (std::size_t j = 0; j < segments_.size(); ++j)
      try_element(j, search);
    return;
  }
  prepare();
  std::int64_t const x = column(search.p.x);
  std::int64_t const y = row(search.p.y);
  auto const ask = [&](std::int64_t i, std::int64_t j) {
    if (i < 0 || i >= rows_ || j < 0 || j >= columns_) return;
    auto const cell = static_cast<std::size_t>(i * columns_ + j);
    for (std::uint32_t e = begin_[cell]; e < begin_[cell + 1]; ++e)
      try_element(elements_[e], search);
  };
  // Ring by ring about the point's own cell, as long as one may hold something nearer. An element may pass
  // beside the cells that it is listed in, by less than half a cell.
  for (std::int64_t ring = 0; static_cast<double>(ring - 2) * cell_ <= search.least; ++ring) {
    std::int64_t const across = std::max<std::int64_t>(2 * ring, 1);
    for (std::int64_t i = -ring; i <= ring; ++i)
      for (std::int64_t j = -ring; j <= ring; j += std::abs(i) == ring ? 1 : across)
        ask(y + i, x + j);
  }
}

std::optional<Foot> Course::result_of(Search const& search) const {
  std::optional<Foot> best = search.best;
  if (!best) return best;
  if (!closed_) {
    Segment const& first = segments_.front();
    Segment const& last = segments_.back();
    best->beyond = (best->element == 0 && best->share <= 0 &&
                    dot(search.p - first.from, first.direction_at_from()) < -1e-9) ||
                   (best->element + 1 == segments_.size() && best->share >= 1 &&
                    dot(search.p - last.to, last.direction_at_to()) > 1e-9);
  }
  return best;
}

namespace {
constexpr double enough_alike = 0.5; // cos 60 degrees
} // namespace

std::optional<Foot> Course::nearest(Vec2 p, Vec2 direction) const {
  Search search{p, direction, enough_alike, std::nextafter(reach_, 2 * reach_)};
  try_cells(search);
  return result_of(search);
}

std::optional<Foot> Course::nearest(Vec2 p) const {
  Search search{p, {}, -1, std::nextafter(reach_, 2 * reach_)};
  try_cells(search);
  if (search.best && (search.best->share <= 0 || search.best->share >= 1)) {
    // At a vertex the side is that of its bisector.
    std::size_t const vertex = search.best->element + (search.best->share >= 1 ? 1 : 0);
    std::size_t const at = closed_ ? vertex % segments_.size() : vertex;
    double const side = cross(direction_at_vertex(at), p - this->vertex(at));
    search.best->left = std::copysign(search.best->left, side);
  }
  return result_of(search);
}

std::optional<Foot> Course::nearest_about(std::size_t hint, Vec2 p, Vec2 direction, double surely) const {
  constexpr std::int64_t farthest = 16; // elements to either side
  auto const n = static_cast<std::int64_t>(segments_.size());
  Search search{p, direction, enough_alike, surely};
  auto low = static_cast<std::int64_t>(hint);
  std::int64_t high = low;
  auto const ask = [&](std::int64_t j) {
    if (closed_ || (j >= 0 && j < n)) try_element(static_cast<std::size_t>((j + n) % n), search);
  };
  ask(high);
  ask(++high);
  ask(--low);
  // On from the end of what has been asked, as long as the nearest place is that end.
  for (std::int64_t round = 2; round < farthest && 2 * round < n; ++round) {
    if (!search.best) break;
    auto const element = static_cast<std::int64_t>(search.best->element);
    if (search.best->share >= 1 && element == (high + n) % n)
      ask(++high);
    else if (search.best->share <= 0 && element == (low + n) % n)
      ask(--low);
    else
      return result_of(search);
  }
  return nearest(p, direction);
}

} // namespace restep::finish
