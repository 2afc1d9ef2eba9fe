#include "finish/spiral_roll.hpp"

#include "finish/shape.hpp"
#include "geometry/fit.hpp"
#include "motion/arc.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::finish {

namespace {

using motion::Step;
using motion::Vec3;

// NISTIR 6556, 3.5.3.2 (from memory): how far the radii at both ends of an arc may differ, mm.
constexpr double arc_tolerance = 0.002;

constexpr char const* cannot_follow = "its arcs cannot follow the surface between the new heights";

class Roller {
public:
  Roller(std::span<Step const> operation, UnrolledSpiral const& spiral, cutter::Meridian const& meridian,
         SpiralWay const& way, double resolution)
      : operation_(operation)
      , spiral_(spiral)
      , meridian_(meridian)
      , way_(way)
      , resolution_(resolution) {}

  tl::expected<std::vector<Step>, std::string> run() {
    at_ = motion::motion_of(operation_[spiral_.first])->from;
    if (way_.first_kept() > 0) keep_own(0, 1);
    turn_ = way_.first_kept();
    std::string trouble = roll_course();
    if (trouble.empty() && spiral_.open) trouble = roll_last();
    if (!trouble.empty()) return tl::unexpected(std::move(trouble));
    return std::move(out_);
  }

private:
  std::string roll_course() {
    end_turn_ = way_.course_end();
    end_ = spiral_.open ? own_point(spiral_.turns - 1) : own_point(spiral_.turns);
    auto const own_turns = static_cast<std::size_t>(std::floor(spiral_.turns));
    for (std::size_t turn = static_cast<std::size_t>(turn_); turn_ < end_turn_; ++turn) {
      std::size_t const model = nearest_turn(static_cast<double>(turn), own_turns);
      std::string trouble = tell_turn(static_cast<double>(turn), static_cast<double>(model));
      if (!trouble.empty()) return trouble;
    }
    return {};
  }

  // Turns in the manner of the last one, each back to where that begins, and the last one itself.
  std::string roll_last() {
    Vec3 const begin = at_;
    for (std::size_t k = 0; k + 1 < way_.last_turns(); ++k) {
      end_turn_ = turn_ + 1;
      end_ = point(end_turn_, spiral_.stations.back(), -1e300);
      std::string trouble = tell_turn(turn_, spiral_.turns - 1);
      if (!trouble.empty()) return trouble;
      go_back(begin);
    }
    keep_own(spiral_.turns - 1, spiral_.turns);
    return {};
  }

  // The program's whole turn whose middle is nearest in height to that of a new one.
  std::size_t nearest_turn(double turn, std::size_t own_turns) const {
    double const z = meridian_.at(way_.s(std::min(turn + 0.5, end_turn_))).y;
    std::size_t best = 0;
    double off = 1e300;
    for (std::size_t j = 0; j < own_turns; ++j) {
      double const here = std::abs(spiral_.at(static_cast<double>(j) + 0.5).y - z);
      if (here < off) {
        off = here;
        best = j;
      }
    }
    return best;
  }

  // One turn in the manner of the program's turn that begins after `begin` turns.
  std::string tell_turn(double whole, double begin) {
    // Where a curve begins or ends its offsets know the place along the contour to so much: a point there may
    // stand on either side of the turn's beginning from turn to turn. It ends a turn and never begins one.
    double const near = 0.02 / spiral_.base.length(); // mm
    auto const& stations = spiral_.stations;
    auto station = std::upper_bound(stations.begin(), stations.end(), begin + near,
                                    [](double t, SpiralStation const& s) { return t < s.turn; });
    for (; station != stations.end() && turn_ < end_turn_; ++station) {
      double t = whole + (station->turn - begin);
      bool const last_of_turn = station->turn >= begin + 1 - near;
      if (last_of_turn && station->turn > begin + 1 + near) {
        // The program has no point above the beginning of its turns: the next turn goes on from here.
        return {};
      }
      bool const end = t >= end_turn_ - near;
      if (end) t = end_turn_;
      if (std::string trouble = go_to(t, *station, whole - begin); !trouble.empty()) return trouble;
      if (last_of_turn || end) return {};
    }
    if (turn_ >= end_turn_) return {};
    // The program's own last turn may be the model: what is left of it ends at the end.
    return go_to(end_turn_, stations.back(), whole - begin);
  }

  std::string go_to(double t, SpiralStation const& station, double shift) {
    Step step = operation_[station.step];
    motion::Motion& m = *motion::motion_of(step);
    bool const end = t == end_turn_;
    double const own = t - shift; // on the program's spiral
    Vec3 const to = end ? end_ : point(t, station, end_.z);
    if (motion::is_arc(m)) {
      double const same_place = 8 * resolution_ / spiral_.base.length();
      auto const begin = &station - 1; // the station where the program's arc begins
      if (std::abs(begin->turn + shift - turn_) > same_place || std::abs(station.turn - own) > same_place)
        return "its turns are not told in the same arcs";
      if (std::string trouble = bend(m, to, {turn_, t, begin->turn, station.turn}); !trouble.empty())
        return trouble;
    }
    turn_ = t;
    m.from = at_;
    m.to = to;
    if (geometry::xy(m.from) == geometry::xy(m.to) && !motion::is_arc(m)) {
      // Two points that the digits cannot tell apart: the next one starts here. The end is met in any case.
      if (!end) return {};
      if (m.from == m.to) return {};
    }
    at_ = to;
    step.generated = true;
    step.touched = true;
    out_.push_back(step);
    return {};
  }

  SpiralStation const& station_at(double turn) const {
    constexpr double same = 1e-9;
    return *std::lower_bound(spiral_.stations.begin(), spiral_.stations.end(), turn - same,
                             [](SpiralStation const& s, double t) { return s.turn < t; });
  }

  // Where the program's own spiral stands at a station.
  Vec3 own_point(double turn) const {
    SpiralStation const& station = station_at(turn);
    motion::Motion const& m = *motion::motion_of(operation_[station.step]);
    if (station.share == 1) return m.to;
    Vec3 const p = motion::point_at(m, station.share);
    return {on_digits(p.x, resolution_), on_digits(p.y, resolution_), on_digits(p.z, resolution_)};
  }

  // The program's own steps between two of its stations.
  void keep_own(double from, double to) {
    SpiralStation const& before = station_at(from);
    SpiralStation const& end = station_at(to);
    std::size_t const first = (&before + 1)->step;
    for (std::size_t i = first; i <= end.step; ++i) {
      Step step = operation_[i];
      if (motion::Motion* m = motion::motion_of(step); m != nullptr) {
        Vec3 const there = i == end.step ? own_point(to) : m->to;
        step.generated = step.touched = m->from != at_ || m->to != there;
        m->from = at_;
        m->to = at_ = there;
        if (motion::is_arc(*m)) m->centre.z = m->from.z;
      }
      out_.push_back(step);
    }
  }

  // Straight up and in to where the kept turn begins.
  void go_back(Vec3 const& begin) {
    for (Vec3 const& to : {geometry::at_height(geometry::xy(at_), begin.z), begin}) {
      if (to == at_) continue;
      Step step = operation_[spiral_.stations.back().step];
      motion::Motion& m = *motion::motion_of(step);
      m.path = motion::PathKind::line;
      m.from = at_;
      m.to = at_ = to;
      step.generated = step.touched = true;
      out_.push_back(step);
    }
  }

  // What an arc reaches over, in turns: on the new spiral and on the program's.
  struct Reach {
    double from, to, own_from, own_to;
  };

  // Where the surface has an arc at a share of its way.
  Vec2 on_reach(Reach const& reach, double share, Vec3 const& to) const {
    Along const along =
        along_at(reach.from + share * (reach.to - reach.from), at_.z + share * (to.z - at_.z));
    double const own = reach.own_from + share * (reach.own_to - reach.own_from);
    return spiral_.base.point(spiral_.u(own), spiral_.side() * along.d);
  }

  // Puts an arc's centre between its new ends: that of the circle through these and the surface half-way.
  std::string bend(motion::Motion& m, Vec3 const& to, Reach const& reach) const {
    bool const full = geometry::xy(m.from) == geometry::xy(m.to);
    Vec2 const from = geometry::xy(at_);
    Vec2 const end = geometry::xy(to);
    if (full != (from == end) || (!full && motion::sweep(m) > 1.9 * std::numbers::pi))
      return "whole circles cannot follow a surface that is not a wall";
    Vec2 centre = geometry::xy(m.centre);
    if (full || spiral_.away == 0) {
      if (std::abs(distance(centre, from) - distance(centre, end)) > arc_tolerance) return cannot_follow;
    } else {
      auto const circle = geometry::circle_through(from, on_reach(reach, 0.5, to), end);
      if (!circle) return cannot_follow;
      centre = circle->centre;
      for (double const share : {0.2, 0.8})
        if (std::abs(distance(centre, on_reach(reach, share, to)) - circle->radius) > arc_tolerance)
          return cannot_follow;
    }
    m.centre = geometry::at_height(centre, at_.z);
    return {};
  }

  // A place on the meridian at a height that the digits bear. Where the surface is steep d goes with that
  // height, where it is flat d rules.
  struct Along {
    double d;    ///< mm
    double off;  ///< along the surface's normal, away from the material above 0, mm
    double sine; ///< of the surface's slope
  };
  Along along_at(double turn, double z) const {
    double const s = way_.s(turn);
    Vec2 const tip = meridian_.at(s);
    Vec2 const along = meridian_.tangent(s);
    double const sine = -along.y;
    double const cosine = along.x;
    if (sine > cosine) return {tip.x + (tip.y - z) * cosine / sine, 0, sine};
    return {tip.x, (z - tip.y) * cosine, sine};
  }

  // The point after so many turns above a station of the program's, not below a height.
  Vec3 point(double t, SpiralStation const& station, double lowest) const {
    // Nowhere above the point before or below the end: what the fit stands off them must not make the path
    // rise.
    double const z =
        std::clamp(on_digits(meridian_.at(way_.s(t)).y, resolution_), std::min(lowest, at_.z), at_.z);
    if (spiral_.away == 0) {
      Vec3 const own = motion::motion_of(operation_[station.step])->to;
      return {own.x, own.y, z};
    }
    Along const along = along_at(t, z);
    double const u = spiral_.u(station.turn);
    Vec2 const exact = spiral_.base.point(u, spiral_.side() * along.d);
    return geometry::at_height(snap(exact, spiral_.side() * spiral_.base.left(u), along.off, along.sine), z);
  }

  // The point on the digits about p that stands least off the surface, `off` being what the height adds; what
  // cuts below the surface counts double, and between equals the nearer one is taken.
  Vec2 snap(Vec2 p, Vec2 away, double off, double sine) const {
    double const x = std::floor(p.x / resolution_);
    double const y = std::floor(p.y / resolution_);
    Vec2 best{};
    double best_score = 1e300;
    for (int i = -1; i <= 2; ++i)
      for (int j = -1; j <= 2; ++j) {
        Vec2 const g{(x + i) * resolution_, (y + j) * resolution_};
        double const stands_off = off + dot(g - p, away) * sine;
        double const score = std::abs(stands_off) + std::max(0.0, -stands_off) + 0.1 * distance(g, p);
        if (score < best_score) {
          best_score = score;
          best = g;
        }
      }
    return best;
  }

  std::span<Step const> operation_;
  UnrolledSpiral const& spiral_;
  cutter::Meridian const& meridian_;
  SpiralWay const& way_;
  double resolution_;
  std::vector<Step> out_;
  Vec3 at_{};
  double turn_ = 0;
  double end_turn_ = 0; ///< of what is being told
  Vec3 end_{};
};

} // namespace

tl::expected<std::vector<Step>, std::string> roll_up(std::span<Step const> operation,
                                                     UnrolledSpiral const& spiral,
                                                     cutter::Meridian const& meridian, SpiralWay const& way,
                                                     double resolution) {
  return Roller(operation, spiral, meridian, way, resolution).run();
}

} // namespace restep::finish
