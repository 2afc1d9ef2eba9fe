// How long a program runs.
//
// Every move becomes a segment with a length, a speed limit and an acceleration; where two segments meet, the
// corner limits the speed. A backward pass over the window finds how fast each segment may be entered so that
// everything behind it can still be braked for, a forward pass how fast it can be entered at all.
//
// The window holds 256 segments. When it is full, the first half is planned as if the machine stopped at the
// window's end. That is exact unless braking from the speed at the middle needs more than the 128 segments
// behind it, that is unless they are together shorter than v^2 / (2 a): at 50 mm/s and 200 mm/s^2, 6.25 mm,
// or chords below 0.05 mm. There the result is too long, never too short.

#include "motion/time_model.hpp"

#include "motion/arc.hpp"
#include "motion/cycle.hpp"
#include "motion/kinematics.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <variant>

namespace restep::motion {
namespace {

constexpr std::size_t window_size = 256;
constexpr double infinity = std::numeric_limits<double>::infinity();
/// sin(alpha / 2) below which two straight moves are one: decimals of a straight line's points never show it.
constexpr double straight_on = 5e-7;

template <class... F>
struct Overloaded : F... {
  using F::operator()...;
};
template <class... F>
Overloaded(F...) -> Overloaded<F...>;

double known_or_zero(double difference) {
  return is_known(difference) ? difference : 0;
}

Vec3 travel_between(Vec3 from, Vec3 to) {
  return {known_or_zero(to.x - from.x), known_or_zero(to.y - from.y), known_or_zero(to.z - from.z)};
}

double size_of(Vec3 v) {
  return std::sqrt(dot(v, v));
}

/// min over the axes of limit / |share|: how much of a path quantity keeps every axis inside its own limit.
/// A limit of 0 is no limit.
double along(Vec3 limits, Vec3 share) {
  double least = infinity;
  for (int axis = 0; axis < 3; ++axis)
    if (limits[axis] > 0 && share[axis] != 0) least = std::min(least, limits[axis] / std::abs(share[axis]));
  return least;
}

} // namespace

TimeModel::TimeModel(Machine const& machine)
    : machine_(machine)
    , corner_tolerance_(machine.corner_tolerance) {
  window_.reserve(window_size);
  entry_.resize(window_size + 1);
}

void TimeModel::add(Step const& step) {
  if (auto const* motion = motion_of(step))
    add(*motion);
  else
    add(step.event);
}

void TimeModel::add(Event const& event) {
  std::visit(Overloaded{
                 [&](Motion const& motion) { add(motion); },
                 [&](Cycle const& cycle) {
                   std::vector<Event> events = std::move(cycle_events_);
                   expand(cycle, rotation_, events);
                   for (Event const& part : events)
                     add(part);
                   cycle_events_ = std::move(events);
                 },
                 [&](Home const& home) {
                   rapid_straight(home.from, home.via);
                   stop();
                 },
                 [&](MachineMove const&) { stop(); },
                 [&](Probe const& probe) {
                   Vec3 const travel = travel_between(probe.from, probe.to);
                   add_straight(travel, size_of(travel), probe.feed / 60);
                   stop();
                 },
                 [&](Dwell const& dwell) {
                   stop();
                   seconds_ += dwell.seconds;
                 },
                 [&](SpindleTurn const& turn) {
                   stop();
                   if (turn.rotation != Rotation::stop && turn.rotation != rotation_)
                     seconds_ += machine_.spindle_start_seconds;
                   rotation_ = turn.rotation;
                 },
                 [&](SpindleSpeed const& speed) { spindle_rpm_ = speed.rpm; },
                 [&](ToolChange const& change) {
                   stop();
                   if (change.tool != tool_) seconds_ += machine_.tool_change_seconds;
                   tool_ = change.tool;
                   rotation_ = Rotation::stop;
                 },
                 [&](Stop const&) { stop(); }, [&](WorkOffset const&) { stop(); },
                 [&](OffsetChange const&) { stop(); }, [&](LengthOffset const&) { stop(); },
                 [&](PathControl const& path) {
                   stop();
                   stop_at_corners_ = path.mode == PathMode::exact_stop;
                   corner_tolerance_ = path.mode == PathMode::exact_path ? 0
                                       : path.tolerance > 0              ? path.tolerance
                                                                         : machine_.corner_tolerance;
                 },
                 [](auto const&) {}, // words, remarks and layout take no time
             },
             event);
}

double TimeModel::feed_speed(Motion const& motion, double length) const {
  switch (motion.feed_mode) {
  case FeedMode::per_minute: return motion.feed / 60;
  case FeedMode::inverse_time: return motion.feed * length / 60;
  case FeedMode::per_revolution: return motion.feed * spindle_rpm_ / 60;
  }
  return 0;
}

void TimeModel::add(Motion const& motion) {
  if (!is_arc(motion)) {
    if (motion.path == PathKind::rapid) return rapid_straight(motion.from, motion.to);
    Vec3 const travel = travel_between(motion.from, motion.to);
    double const straight_length = size_of(travel);
    return add_straight(travel, straight_length, feed_speed(motion, straight_length));
  }
  Segment segment;
  segment.straight = false;
  segment.length = length(motion);
  if (!(segment.length > 0)) return;
  PlaneAxes const axes = axes_of(motion.plane);
  segment.start_direction = direction_at(motion, 0);
  segment.end_direction = direction_at(motion, 1);
  // Somewhere on an arc either axis of the plane may carry all of it; the normal axis has its constant share.
  Vec3 share{1, 1, 1};
  share[axes.normal] = segment.start_direction[axes.normal];
  segment.acceleration = along(machine_.acceleration, share);
  double const in_plane = std::sqrt(std::max(0.0, 1 - share[axes.normal] * share[axes.normal]));
  double const circle = std::sqrt(circle_speed_squared(radius(motion), segment.acceleration));
  segment.speed = feed_speed(motion, segment.length);
  if (in_plane > 0) segment.speed = std::min(segment.speed, circle / in_plane);
  add_segment(segment);
}

void TimeModel::rapid_straight(Vec3 from, Vec3 to) {
  Vec3 const travel = travel_between(from, to);
  double const distance = size_of(travel);
  if (distance > 0) add_straight(travel, distance, along(machine_.max_rapid, travel / distance) / 60);
}

void TimeModel::add_straight(Vec3 travel, double length, double speed) {
  if (!(length > 0)) return;
  Segment segment;
  segment.length = length;
  segment.speed = speed;
  segment.start_direction = segment.end_direction = travel / length;
  segment.acceleration = along(machine_.acceleration, segment.start_direction);
  add_segment(segment);
}

double TimeModel::corner_limit(Segment const& before, Segment const& segment) const {
  if (stop_at_corners_) return 0;
  double const acceleration = std::min(before.acceleration, segment.acceleration);
  double const corner =
      segment.half_turn_sine <= straight_on
          ? infinity
          : corner_speed_squared(segment.half_turn_sine, corner_tolerance_,
                                 std::min(segment.length_before, segment.length), acceleration);
  double const speed = std::min(before.speed, segment.speed);
  return std::min(corner, speed * speed);
}

void TimeModel::add_segment(Segment segment) {
  if (machine_.blocks_per_second > 0)
    segment.speed = std::min(segment.speed, segment.length * machine_.blocks_per_second);
  if (!(segment.speed > 0)) return;
  if (!window_.empty()) {
    Segment& last = window_.back();
    // |e2 - e1| = 2 sin(alpha / 2)
    segment.half_turn_sine = size_of(segment.start_direction - last.end_direction) / 2;
    bool const same_speed =
        segment.speed == last.speed || std::abs(segment.speed - last.speed) <= 1e-9 * segment.speed;
    if (segment.straight && last.straight && segment.half_turn_sine <= straight_on && same_speed &&
        !stop_at_corners_) {
      last.length += segment.length;
      if (window_.size() > 1) last.entry_limit = corner_limit(window_[window_.size() - 2], last);
      return;
    }
    segment.length_before = last.length;
    segment.entry_limit = corner_limit(last, segment);
  }
  window_.push_back(segment);
  if (window_.size() == window_size) commit(window_size / 2);
}

/// Plans the whole window to a stop and gives the time of its first `count` segments.
TimeModel::Planned TimeModel::plan(std::size_t count) const {
  std::size_t const n = window_.size();
  entry_[n] = 0;
  for (std::size_t i = n; i-- > 1;)
    entry_[i] =
        std::min(window_[i].entry_limit, entry_[i + 1] + 2 * window_[i].acceleration * window_[i].length);
  Planned planned{0, entry_speed_};
  for (std::size_t i = 0; i < count; ++i) {
    Segment const& segment = window_[i];
    double const v0 = planned.exit_speed;
    double const v1 = std::sqrt(std::min(entry_[i + 1], v0 * v0 + 2 * segment.acceleration * segment.length));
    planned.seconds += seconds_over(segment.length, v0, v1, segment.speed, segment.acceleration);
    planned.exit_speed = v1;
  }
  return planned;
}

void TimeModel::commit(std::size_t count) {
  Planned const planned = plan(count);
  seconds_ += planned.seconds;
  entry_speed_ = planned.exit_speed;
  window_.erase(window_.begin(), window_.begin() + static_cast<std::ptrdiff_t>(count));
}

void TimeModel::stop() {
  if (window_.empty()) return;
  commit(window_.size());
  entry_speed_ = 0;
}

double TimeModel::seconds() const {
  return seconds_ + plan(window_.size()).seconds;
}

} // namespace restep::motion
