#include "transform/feed_limit.hpp"

#include "motion/arc.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace restep::transform {

using motion::is_known;
using motion::Machine;
using motion::Motion;
using motion::Vec3;

namespace {

constexpr double pi = std::numbers::pi;

/// How much of the speed along the path an axis carries at most, in [0, 1], and how much goes down.
struct Shares {
  Vec3 axis{};
  double down = 0;
};

FeedLimit limit_for(Machine const& machine, Shares const& shares) {
  FeedLimit limit;
  constexpr std::array reasons{LimitedBy::x, LimitedBy::y, LimitedBy::z};
  // |d_axis| / |d| * F <= max_feed_axis
  for (int axis = 0; axis < 3; ++axis)
    if (machine.max_feed[axis] > 0 && shares.axis[axis] > 0)
      limit.lower(machine.max_feed[axis] / shares.axis[axis], reasons[static_cast<std::size_t>(axis)],
                  machine.max_feed[axis]);
  if (machine.max_plunge > 0 && shares.down > 0)
    limit.lower(machine.max_plunge / shares.down, LimitedBy::plunge, machine.max_plunge);
  return limit;
}

/// The largest sine between two angles, low <= high.
double largest_sine(double low, double high) {
  double const crest = pi / 2 + 2 * pi * std::ceil((low - pi / 2) / (2 * pi));
  return crest <= high ? 1 : std::max(std::sin(low), std::sin(high));
}

/// The largest share of the in-plane speed that an arc's tangent has along +first, -first, +second, -second
/// of its plane. At the angle phi the tangent is (-sin phi, cos phi), turned round for a clockwise arc.
std::array<double, 4> tangent_shares(Motion const& arc, motion::PlaneAxes axes) {
  double const start = std::atan2(arc.from[axes.second] - arc.centre[axes.second],
                                  arc.from[axes.first] - arc.centre[axes.first]);
  bool const ccw = arc.path == motion::PathKind::arc_ccw;
  double const turn = motion::sweep(arc);
  constexpr double slack = 1e-9; // an end on a crest counts as on it
  double const low = (ccw ? start : start - turn) - slack;
  double const high = (ccw ? start + turn : start) + slack;
  auto const sine_from = [&](double shift) { return largest_sine(low + shift, high + shift); };
  std::array<double, 4> shares{sine_from(pi), sine_from(0), sine_from(pi / 2), sine_from(-pi / 2)};
  if (!ccw) {
    std::swap(shares[0], shares[1]);
    std::swap(shares[2], shares[3]);
  }
  return shares;
}

double least_acceleration(Machine const& machine, motion::PlaneAxes axes) {
  double const first = machine.acceleration[axes.first], second = machine.acceleration[axes.second];
  if (first > 0 && second > 0) return std::min(first, second);
  return std::max(first, second);
}

} // namespace

FeedLimit straight_limit(Machine const& machine, Vec3 from, Vec3 to, bool incremental) {
  Vec3 travel{};
  bool may_move[3];
  for (int axis = 0; axis < 3; ++axis) {
    bool const unsure = !is_known(from[axis]) || !is_known(to[axis]);
    may_move[axis] = unsure && (is_known(to[axis]) || is_known(from[axis]) || incremental);
    travel[axis] = unsure ? 0 : to[axis] - from[axis];
  }
  // The true length is at least the known one, so a known axis's share is at most this.
  double const known = geometry::length(travel);
  Shares shares;
  for (int axis = 0; axis < 3; ++axis)
    shares.axis[axis] = may_move[axis] ? 1 : known > 0 ? std::abs(travel[axis]) / known : 0;
  shares.down = may_move[2] ? 1 : known > 0 ? std::max(0.0, -travel.z) / known : 0;
  return limit_for(machine, shares);
}

FeedLimit arc_limit(Machine const& machine, Motion const& arc, double tool_radius) {
  motion::PlaneAxes const axes = motion::axes_of(arc.plane);
  auto const distance_to_centre = [&](Vec3 point) {
    return std::hypot(point[axes.first] - arc.centre[axes.first],
                      point[axes.second] - arc.centre[axes.second]);
  };
  double const r0 = distance_to_centre(arc.from), r1 = distance_to_centre(arc.to);
  if (!is_known(r0) || !is_known(r1)) return limit_for(machine, {{1, 1, 1}, 1});

  // A helix of sweep w and rise p per arc: in the plane it has the share w r / sqrt((w r)^2 + p^2) of the
  // speed, along the axis p / sqrt(...). The larger radius is the worse one for the first, the smaller for
  // the second.
  double const turn = motion::sweep(arc);
  double const rise = arc.to[axes.normal] - arc.from[axes.normal];
  bool const rise_unsure = is_known(arc.to[axes.normal]) && !is_known(arc.from[axes.normal]);
  double const climb = is_known(rise) ? rise : 0;
  double const in_plane = turn * std::max(r0, r1) / std::hypot(turn * std::max(r0, r1), climb);
  double const along = std::abs(climb) / std::hypot(turn * std::min(r0, r1), climb);

  std::array<double, 4> const tangent = tangent_shares(arc, axes);
  Shares shares;
  shares.axis[axes.first] = in_plane * std::max(tangent[0], tangent[1]);
  shares.axis[axes.second] = in_plane * std::max(tangent[2], tangent[3]);
  shares.axis[axes.normal] = rise_unsure ? 1 : along;
  shares.down = axes.normal == 2  ? (rise_unsure ? 1
                                     : climb < 0 ? along
                                                 : 0)
                : axes.first == 2 ? in_plane * std::max(0.0, tangent[1])
                                  : in_plane * std::max(0.0, tangent[3]);
  FeedLimit limit = limit_for(machine, shares);

  // v_in_plane^2 / rho <= a, a in mm/s^2, v in mm/min
  double rho = std::min(r0, r1);
  if (arc.compensated && rho > tool_radius) rho -= tool_radius;
  double const acceleration = least_acceleration(machine, axes);
  if (acceleration > 0 && in_plane > 0)
    limit.lower(60 * std::sqrt(acceleration * rho) / in_plane, LimitedBy::arc, rho);
  return limit;
}

FeedLimit axis_limit(Machine const& machine, int axis, int direction) {
  Shares shares;
  shares.axis[axis] = 1;
  shares.down = axis == 2 && direction <= 0 ? 1 : 0;
  return limit_for(machine, shares);
}

double feed_per_minute(Motion const& cut, double rpm) {
  switch (cut.feed_mode) {
  case motion::FeedMode::per_minute: return cut.feed;
  case motion::FeedMode::per_revolution: return cut.feed * rpm;
  case motion::FeedMode::inverse_time: break;
  }
  return cut.feed * motion::length(cut);
}

std::string words_for(FeedLimit const& limit, motion::Units units) {
  switch (limit.by) {
  case LimitedBy::nothing: break;
  case LimitedBy::x: return "X feeds at most " + speed_words(limit.allowed, units);
  case LimitedBy::y: return "Y feeds at most " + speed_words(limit.allowed, units);
  case LimitedBy::z: return "Z feeds at most " + speed_words(limit.allowed, units);
  case LimitedBy::plunge: return "downwards at most " + speed_words(limit.allowed, units);
  case LimitedBy::arc:
    return fmt::format("the acceleration allows {} on the radius {}", speed_words(limit.speed, units),
                       length_words(limit.allowed, units));
  }
  return {};
}

} // namespace restep::transform
