// How long a program runs.
//
// Every move becomes a segment with a length, a speed limit and an acceleration (speed_window).

#include "motion/time_model.hpp"

#include "motion/arc.hpp"
#include "motion/cycle.hpp"
#include "motion/kinematics.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <variant>

namespace restep::motion {
namespace {

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

} // namespace

TimeModel::TimeModel(Machine const& machine)
    : machine_(machine) {
  window_.set_corners(machine.corner_tolerance, false);
}

void TimeModel::add(Step const& step) {
  if (auto const* motion = motion_of(step))
    add(*motion);
  else
    add(step.event);
}

void TimeModel::add(Stretch const& stretch) {
  Ways const ways = stretch.ways();
  // Longer than is needed, as the columns of the ways are.
  std::array<double, Stretch::longest + 8> speeds{};
  double const feed = stretch.like.feed / 60;
  for (std::size_t i = 0; i < stretch.size; ++i)
    speeds[i] = std::min(feed, reading_limit(ways.length[i]));
  window_.add(ways, stretch.size, speeds.data(), machine_.acceleration);
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
                   add_straight(travel, geometry::length(travel), probe.feed / 60);
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
                   window_.set_corners(path.mode == PathMode::exact_path ? 0
                                       : path.tolerance > 0              ? path.tolerance
                                                                         : machine_.corner_tolerance,
                                       path.mode == PathMode::exact_stop);
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
    double const straight_length = geometry::length(travel);
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
  double const distance = geometry::length(travel);
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

/// The control reads so many blocks a second, mm/s.
double TimeModel::reading_limit(double length) const {
  return machine_.blocks_per_second > 0 ? length * machine_.blocks_per_second
                                        : std::numeric_limits<double>::infinity();
}

void TimeModel::add_segment(Segment segment) {
  segment.speed = std::min(segment.speed, reading_limit(segment.length));
  window_.add(segment);
}

} // namespace restep::motion
