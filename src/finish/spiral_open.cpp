#include "finish/spiral_open.hpp"

#include "finish/fit_meridian.hpp"
#include "finish/spiral_fit.hpp"
#include "motion/arc.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

namespace restep::finish {

namespace {

constexpr char const* no_closing = "it ends without a turn at one height, ";

motion::Motion flat(motion::Motion m) {
  m.to.z = m.centre.z = m.from.z;
  return m;
}

// A motion from a share of its length on, in plan.
Segment segment_from(motion::Motion const& m, double share, std::size_t step) {
  Segment s;
  s.arc = motion::is_arc(m);
  s.ccw = m.path == motion::PathKind::arc_ccw;
  s.from = geometry::xy(motion::point_at(m, share));
  s.to = geometry::xy(m.to);
  s.centre = geometry::xy(m.centre);
  s.step = step;
  return s;
}

// The last place, going back, at which a run crosses the line that stands upright on its end.
class WayBack {
public:
  WayBack(motion::Motion const& last, double max_shift)
      : end_(geometry::xy(last.to))
      , course_(normalized(geometry::xy(motion::direction_at(last, 1))))
      , max_shift_(max_shift) {}

  // The share of the motion at which it comes over the line beside the end; motions are given backwards.
  std::optional<double> crossing(motion::Motion const& m) {
    int const pieces = motion::is_arc(m) ? static_cast<int>(std::ceil(motion::sweep(m) / 0.2)) : 1;
    for (int i = pieces - 1; i >= 0; --i) {
      double const low = static_cast<double>(i) / pieces;
      double const high = static_cast<double>(i + 1) / pieces;
      double const before = ahead(m, low);
      double const behind = ahead(m, high);
      // It has come round when it has been in front of the end.
      gone_ = gone_ || before > same_place;
      if (gone_ && behind > -same_place && before <= same_place) {
        double const share = meet(m, low, high);
        Vec2 const there = geometry::xy(motion::point_at(m, share));
        if (distance(there, end_) <= max_shift_) return share;
      }
    }
    return std::nullopt;
  }

private:
  static constexpr double same_place = 0.0005; // mm

  double ahead(motion::Motion const& m, double share) const {
    return dot(course_, geometry::xy(motion::point_at(m, share)) - end_);
  }
  double meet(motion::Motion const& m, double low, double high) const {
    for (int round = 0; round < 50; ++round) {
      double const middle = 0.5 * (low + high);
      (ahead(m, middle) < 0 ? low : high) = middle;
    }
    return high;
  }

  Vec2 end_, course_;
  double max_shift_;
  bool gone_ = false;
};

// How far the last turn stands off the contour at the places of its joints, to the left, mm: what the turns
// above a place say in the mean. Where the surface is flat a point's height says little of it.
std::vector<double> stands_off(UnrolledSpiral const& spiral, cutter::Meridian const& meridian) {
  std::vector<double> off;
  double const length = spiral.base.length();
  for (double const u : spiral.base.joints()) {
    double sum = 0;
    double weight = 0;
    double turn = spiral.turns - 1 + u / length;
    while (turn >= 0) {
      Vec2 const tip = spiral.at(turn);
      double const sine = -meridian.tangent(meridian.nearest(tip)).y;
      sum += meridian.signed_distance(tip) * sine;
      weight += sine * sine;
      turn -= 1;
    }
    off.push_back(weight > 0 ? spiral.side() * sum / weight : 0);
  }
  // The first joint and the last are one place.
  off.front() = off.back();
  return off;
}

tl::expected<cutter::Meridian, std::string> meridian_at_end(UnrolledSpiral const& spiral, double tolerance) {
  std::vector<Vec2> column;
  double turn = spiral.turns;
  while (turn >= 0) {
    column.push_back(spiral.at(turn));
    turn -= 1;
  }
  std::reverse(column.begin(), column.end());
  auto const falls = [](Vec2 a, Vec2 b) { return b.y >= a.y; };
  column.erase(std::unique(column.begin(), column.end(), falls), column.end());
  // Few points may not tell where one piece ends and the next begins; roughly they tell the surface all the
  // same, and all points together tell it well once the contour is nearly known.
  for (double const wider : {1.0, 4.0, 16.0, 64.0}) {
    auto fit = fit_meridian(column, wider * tolerance);
    if (fit && fit->in_one_piece()) return fit->sections.front().meridian;
  }
  return tl::unexpected(std::string("its surface is not one smooth curve"));
}

} // namespace

tl::expected<std::vector<Segment>, std::string> last_turn_of(std::span<motion::Step const> operation,
                                                             SpiralRun const& run, double max_shift,
                                                             double resolution) {
  WayBack back(*motion::motion_of(operation[run.last]), max_shift);
  std::vector<Segment> turn;
  for (std::size_t i = run.last + 1; i-- > run.first;) {
    motion::Motion const* m = motion::motion_of(operation[i]);
    if (m == nullptr) continue;
    auto share = back.crossing(*m);
    if (!share) {
      turn.push_back(segment_from(*m, 0, i));
      continue;
    }
    double const length = motion::length(flat(*m));
    // The line stands upright on the last chord and not on the curve: a vertex of the curve above the end
    // lies beside it by as much as the chord's half turn makes of the gap.
    Vec2 const end = geometry::xy(motion::motion_of(operation[run.last])->to);
    double const gap = distance(geometry::xy(motion::point_at(*m, *share)), end);
    double const near = std::min(4 * resolution + 0.1 * gap, 0.25 * length);
    if (*share * length <= near) share = 0;
    if ((1 - *share) * length > near) turn.push_back(segment_from(*m, *share, i));
    std::reverse(turn.begin(), turn.end());
    return turn;
  }
  return tl::unexpected(std::string(no_closing) + "and its last turn does not end beside its beginning");
}

tl::expected<UnrolledSpiral, std::string> unroll_open(std::span<motion::Step const> operation,
                                                      SpiralRun const& run, UnrollLimits const& limits) {
  auto turn = last_turn_of(operation, run, limits.max_shift, limits.resolution);
  if (!turn) return tl::unexpected(turn.error());
  auto base = SpiralBase::from(*turn);
  if (!base) return tl::unexpected(base.error());

  // As if it stood off evenly less and less.
  Vec2 const end = turn->back().to;
  double const gap = dot(end - turn->front().from, base->left(0));
  std::vector<double> off = base->joints();
  for (double& w : off)
    w = (1 - w / base->length()) * gap;
  bool const wall = std::abs(gap) <= std::max(2 * limits.resolution, 0.0005);
  constexpr int most_rounds = 8;
  for (int round = 0;; ++round) {
    base = SpiralBase::from(base->moved(off));
    if (!base) return tl::unexpected(base.error());
    auto spiral = unroll_along(operation, run, *base, limits);
    if (!spiral)
      return tl::unexpected(std::string(no_closing) +
                            "and its turns cannot be followed as offsets of its last one");
    if (!*spiral || round == most_rounds || (wall && (*spiral)->away == 0)) return std::move(*spiral);
    // The first contour is too far off to be fitted everywhere.
    auto const whole = fit_spiral(**spiral, limits.resolution);
    auto const meridian =
        whole ? tl::expected<cutter::Meridian, std::string>(whole->meridian)
              : meridian_at_end(**spiral, std::max(limits.resolution, 0.0003) + base->chord_tolerance());
    if (!meridian)
      return tl::unexpected(std::string(no_closing) +
                            "and those above it do not tell its surface: " + meridian.error());
    off = stands_off(**spiral, *meridian);
    double most = 0;
    for (double const w : off)
      most = std::max(most, std::abs(w));
    if (whole && most <= 0.05 * limits.resolution) return std::move(*spiral);
  }
}

} // namespace restep::finish
