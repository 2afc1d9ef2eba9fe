#include "finish/spiral_unroll.hpp"

#include "motion/arc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::finish {

namespace {

constexpr double slack = 0.05; // mm along the contour

double plan_length(motion::Motion const& m) {
  motion::Motion flat = m;
  flat.to.z = flat.from.z;
  return motion::length(flat);
}

// The stations of a run from its end backwards, u counted down from 0.
class Follower {
public:
  Follower(std::span<motion::Step const> operation, SpiralRun const& run, SpiralBase const& base)
      : operation_(operation)
      , run_(run)
      , base_(base) {}

  struct Point {
    double u = 0, w = 0, z = 0;
    std::size_t step = 0; ///< the motion that begins here
  };

  // The end of the run, then where motions begin, last motion first. A spiral without a closing turn ends
  // beside its contour by what its digits are worth.
  std::vector<Point> follow() const {
    motion::Vec3 const end = motion::motion_of(operation_[run_.last])->to;
    std::vector<Point> points{{0, 0, end.z, run_.last + 1}};
    if (run_.loop.empty())
      if (auto const there = base_.place_of(geometry::xy(end), -slack, slack)) points.front().w = there->w;
    double u = 0;
    for (std::size_t i = run_.last + 1; i-- > run_.first;) {
      motion::Motion const* m = motion::motion_of(operation_[i]);
      if (m == nullptr) continue;
      auto const place = begin_of(*m, u);
      if (!place) break;
      u = place->u;
      points.push_back({place->u, place->w, m->from.z, i});
    }
    return points;
  }

private:
  // From the end of a motion, which stands at u, to its beginning, in pieces short enough to lose nothing.
  std::optional<SpiralBase::Place> begin_of(motion::Motion const& m, double u) const {
    double const length = plan_length(m);
    int const pieces = static_cast<int>(std::ceil(length / (base_.length() / 16))) + 1;
    double const piece = length / pieces;
    // Where the contour shrinks with height a short way on the spiral is a longer one on its contour.
    double const back = std::min(8 * piece + slack, base_.length() / 2);
    SpiralBase::Place place{u, 0};
    for (int i = pieces - 1; i >= 0; --i) {
      Vec2 const p = geometry::xy(motion::point_at(m, static_cast<double>(i) / pieces));
      auto const next = base_.place_of(p, place.u - back, place.u + slack);
      if (!next) return std::nullopt;
      place = *next;
    }
    return place;
  }

  std::span<motion::Step const> operation_;
  SpiralRun const& run_;
  SpiralBase const& base_;
};

using Turns = std::vector<Follower::Point>; // from the beginning on; the last is the closing turn's start

// +1, -1 or 0 as in UnrolledSpiral. Deeper turns of a surface that can be machined stand farther from the
// material.
double away_of(Turns const& points, double resolution) {
  double w_low = points.back().w, w_high = w_low;
  double mean_w = 0;
  double mean_z = 0;
  double const n = static_cast<double>(points.size());
  for (auto const& p : points) {
    w_low = std::min(w_low, p.w);
    w_high = std::max(w_high, p.w);
    mean_w += p.w / n;
    mean_z += p.z / n;
  }
  if (w_high - w_low <= std::max(2 * resolution, 0.0005)) return 0;
  double covariance = 0;
  for (auto const& p : points)
    covariance += (p.w - mean_w) * (p.z - mean_z);
  return covariance < 0 ? 1 : -1;
}

// The point at or behind a turn after point i.
std::size_t one_turn_on(Turns const& points, std::size_t i, double length) {
  std::size_t k = i;
  while (k + 1 < points.size() && points[k].u < points[i].u + length)
    ++k;
  return k;
}

// The first point that belongs to the spiral itself: behind a ramp that falls several times as steeply as the
// turn that follows, and behind a way that comes in from the air while it falls.
std::size_t behind_ramp(Turns const& points, double length, double away, double tolerance) {
  constexpr double steeper = 4;
  std::size_t first = 0;
  for (; first + 1 < points.size(); ++first) {
    std::size_t const a = one_turn_on(points, first, length);
    std::size_t const b = one_turn_on(points, a, length);
    double const following = points[b].u - points[a].u;
    if (following < 0.5 * length) break;
    double const slope = (points[a].z - points[b].z) / following;
    double const own =
        (points[first].z - points[first + 1].z) / std::max(points[first + 1].u - points[first].u, 1e-6);
    if (own <= steeper * slope + 2 * tolerance / length) break;
  }
  std::size_t const end = one_turn_on(points, first, length);
  for (std::size_t i = end; i > first; --i) {
    double const outwards = points[i].w - points[i - 1].w;
    if (away == 0 ? std::abs(outwards) > tolerance : away * outwards < -tolerance) return i;
  }
  return first;
}

} // namespace

Vec2 UnrolledSpiral::at(double turn) const {
  auto const after = std::upper_bound(stations.begin(), stations.end(), turn,
                                      [](double t, SpiralStation const& s) { return t < s.turn; });
  if (after == stations.begin()) return stations.front().tip;
  if (after == stations.end()) return stations.back().tip;
  SpiralStation const& b = *after;
  SpiralStation const& a = *(after - 1);
  double const share = (turn - a.turn) / (b.turn - a.turn);
  return a.tip + share * (b.tip - a.tip);
}

void UnrolledSpiral::part_at(double turn, double near) {
  auto const behind = std::lower_bound(stations.begin(), stations.end(), turn,
                                       [](SpiralStation const& s, double t) { return s.turn < t; });
  if (behind == stations.begin() || behind == stations.end()) return;
  for (auto const beside : {behind - 1, behind})
    if (std::abs(beside->turn - turn) * base.length() <= near) {
      beside->turn = turn;
      return;
    }
  SpiralStation const& before = *(behind - 1);
  stations.insert(behind,
                  {turn, at(turn), behind->step, (turn - before.turn) / (behind->turn - before.turn)});
}

std::optional<tl::expected<UnrolledSpiral, std::string>>
unroll(std::span<motion::Step const> operation, SpiralRun const& run, UnrollLimits const& limits) {
  // A way that is not even long enough needs no look.
  auto base = SpiralBase::from(run.loop);
  double way = 0;
  double falls = 0;
  double loop = 0;
  for (Segment const& s : run.loop)
    loop += s.length();
  for (std::size_t i = run.first; i <= run.last; ++i)
    if (motion::Motion const* m = motion::motion_of(operation[i])) {
      way += plan_length(*m);
      falls += m->from.z - m->to.z;
    }
  if (way < 0.5 * limits.min_turns * loop || falls <= 0) return std::nullopt;
  if (!base) {
    if (way < limits.min_turns * loop) return std::nullopt; // rather a way in
    return tl::expected<UnrolledSpiral, std::string>(tl::unexpected(base.error()));
  }

  return unroll_along(operation, run, *base, limits);
}

std::optional<tl::expected<UnrolledSpiral, std::string>> unroll_along(std::span<motion::Step const> operation,
                                                                      SpiralRun const& run,
                                                                      SpiralBase const& base,
                                                                      UnrollLimits const& limits) {
  Turns points = Follower(operation, run, base).follow();
  std::reverse(points.begin(), points.end());
  double const length = base.length();
  double const tolerance = std::max(2 * limits.resolution, 0.0005) + base.chord_tolerance();
  if (-points.front().u < (limits.min_turns - 0.01) * length) return std::nullopt;
  // What leads in is shorter than a turn.
  std::size_t const second = one_turn_on(points, 0, length);
  double const away =
      away_of({points.begin() + static_cast<std::ptrdiff_t>(second), points.end()}, limits.resolution);
  std::size_t const begin = behind_ramp(points, length, away, tolerance);
  points.erase(points.begin(), points.begin() + static_cast<std::ptrdiff_t>(begin));
  double turns = -points.front().u / length;
  if (turns < limits.min_turns - 0.01) return std::nullopt;

  // A spiral that begins above the start of its closing turn has whole turns; the digits may say otherwise.
  constexpr double same_place = 0.02; // mm
  if (std::abs(turns - std::round(turns)) * length <= same_place) turns = std::round(turns);

  UnrolledSpiral spiral{base, base.curve(), points.front().step, run.last, run.loop_last, {}, turns, away};
  spiral.open = run.loop.empty();
  double const side = spiral.side();
  for (std::size_t i = 0; i < points.size(); ++i) {
    double turn = turns + points[i].u / length;
    if (std::abs(turn - std::round(turn)) * length <= 4 * limits.resolution) turn = std::round(turn);
    if (i == 0) turn = 0;
    SpiralStation const station{
        turn, {side * points[i].w, points[i].z}, i == 0 ? points[i].step : points[i - 1].step};
    if (i > 0 && turn <= spiral.stations.back().turn) {
      if (spiral.stations.back().turn - turn > slack / length)
        return tl::expected<UnrolledSpiral, std::string>(
            tl::unexpected(std::string("its turns go back on themselves")));
      continue;
    }
    spiral.stations.push_back(station);
  }
  for (SpiralStation const& s : spiral.stations) {
    if (s.turn + 1 > turns) break;
    if (std::abs(spiral.at(s.turn + 1).x - s.tip.x) > limits.max_shift) return std::nullopt;
  }
  return tl::expected<UnrolledSpiral, std::string>(std::move(spiral));
}

} // namespace restep::finish
