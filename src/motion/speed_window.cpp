#include "motion/speed_window.hpp"

#include "motion/kinematics.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::motion {

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
/// sin(alpha / 2) below which two straight moves are one: decimals of a straight line's points never show it.
constexpr double straight_on = 5e-7;

// std::min and std::max give references, over which g++ does not work on several at once.
constexpr double lesser(double a, double b) {
  return b < a ? b : a;
}
constexpr double greater(double a, double b) {
  return a < b ? b : a;
}

bool same_speed(double a, double b) {
  return a == b || std::abs(a - b) <= 1e-9 * a;
}

} // namespace

void SpeedWindow::push(double length, double speed, double acceleration, double entry_limit) {
  length_[size_] = length;
  speed_[size_] = speed;
  acceleration_[size_] = acceleration;
  entry_limit_[size_] = entry_limit;
  if (++size_ == longest) commit(longest - ahead);
}

double SpeedWindow::corner_limit(std::size_t before, Segment const& segment, double half_turn_sine,
                                 double length_before) const {
  if (stop_at_corners_) return 0;
  double const acceleration = std::min(acceleration_[before], segment.acceleration);
  double const corner = half_turn_sine <= straight_on
                            ? infinity
                            : corner_speed_squared(half_turn_sine, corner_tolerance_,
                                                   std::min(length_before, segment.length), acceleration);
  double const speed = std::min(speed_[before], segment.speed);
  return std::min(corner, speed * speed);
}

bool SpeedWindow::add(Segment const& segment) {
  if (!(segment.speed > 0)) return false;
  double entry_limit = 0;
  if (size_ > 0) {
    std::size_t const last = size_ - 1;
    // |e2 - e1| = 2 sin(alpha / 2)
    double const half_turn_sine = distance(segment.start_direction, direction_) / 2;
    if (segment.straight && straight_ && half_turn_sine <= straight_on &&
        same_speed(segment.speed, speed_[last]) && !stop_at_corners_) {
      length_[last] += segment.length;
      if (last > 0)
        entry_limit_[last] =
            corner_limit(last - 1, {length_[last], speed_[last], acceleration_[last], {}, {}},
                         half_turn_sine_, length_before_);
      return false;
    }
    half_turn_sine_ = half_turn_sine;
    length_before_ = length_[last];
    entry_limit = corner_limit(last, segment, half_turn_sine_, length_before_);
  } else {
    half_turn_sine_ = length_before_ = 0;
  }
  direction_ = segment.end_direction;
  straight_ = segment.straight;
  push(segment.length, segment.speed, segment.acceleration, entry_limit);
  return true;
}

/// What the corners between ways that follow each other allow: corner_limit() in columns.
struct SpeedWindow::Corners {
  Column acceleration;
  Column half_turn_sine; ///< of the corner at the start of each but the first
  Column entry_limit;

  void measure(Ways const& ways, std::size_t count, double const* speeds, Vec3 const& limits,
               double tolerance) {
    // share / limit is largest where limit / share is least; no limit is as one without end.
    Vec3 over{};
    for (int axis = 0; axis < 3; ++axis)
      over[axis] = limits[axis] > 0 ? 1 / limits[axis] : 0;
    // That nothing overlaps the compiler cannot see for itself.
    double const* __restrict const x = ways.x;
    double const* __restrict const y = ways.y;
    double const* __restrict const z = ways.z;
    double const* __restrict const length = ways.length;
    double const* __restrict const most = speeds;
    double* __restrict const axes = acceleration.data();
    double* __restrict const sine = half_turn_sine.data();
    double* __restrict const entry = entry_limit.data();
    std::size_t const whole = in_lanes(count);
    for (std::size_t k = 0; k < whole; ++k)
      axes[k] =
          1 / greater(std::abs(x[k]) * over.x, greater(std::abs(y[k]) * over.y, std::abs(z[k]) * over.z));
    // What there is of columns behind the last cut is worked on as well, and not used.
    for (std::size_t k = 0; k < whole; ++k) {
      double const dx = x[k + 1] - x[k], dy = y[k + 1] - y[k], dz = z[k + 1] - z[k];
      double const s2 = (dx * dx + dy * dy + dz * dz) / 4;
      double const s = std::sqrt(s2);
      // Of a way straight back nothing must be left: s s is rounded as where corners are told one by one.
      double const c = std::sqrt(greater(0.0, 1 - s * s));
      // rho is the lesser of delta c (1 + c) / s^2 and L c / (2 s): kinematics.hpp, (44).
      double const shorter = lesser(length[k], length[k + 1]);
      double const rho = c / s2 * lesser(tolerance * (1 + c), shorter * s / 2);
      double const speed = lesser(most[k], most[k + 1]);
      sine[k + 1] = s;
      entry[k + 1] = lesser(speed * speed, rho * lesser(axes[k], axes[k + 1]));
    }
  }
};

void SpeedWindow::add(Ways const& ways, std::size_t count, double const* speeds, Vec3 const& limits) {
  Corners corners{};
  corners.measure(ways, count, speeds, limits, corner_tolerance_);
  bool goes_on = false; // the last segment is the way before, and nothing but it
  for (std::size_t i = 0; i < count;) {
    std::size_t end = i;
    while (goes_on && end < count && ways.length[end] > 0 && speeds[end] > 0 &&
           corners.half_turn_sine[end] > straight_on)
      ++end;
    if (end > i) {
      half_turn_sine_ = corners.half_turn_sine[end - 1];
      length_before_ = ways.length[end - 2];
      direction_ = ways.direction(end - 1);
      push(ways.length, speeds, corners, i, end);
      i = end;
      continue;
    }
    goes_on =
        ways.length[i] > 0 && speeds[i] > 0 &&
        add({ways.length[i], speeds[i], corners.acceleration[i], ways.direction(i), ways.direction(i)}) &&
        !stop_at_corners_;
    ++i;
  }
}

// The segments [first, end) of columns.
void SpeedWindow::push(double const* lengths, double const* speeds, Corners const& corners, std::size_t first,
                       std::size_t end) {
  while (first < end) {
    auto const part = static_cast<std::ptrdiff_t>(std::min(end - first, longest - size_));
    auto const from = static_cast<std::ptrdiff_t>(first);
    auto const to = static_cast<std::ptrdiff_t>(size_);
    std::copy_n(lengths + from, part, length_.begin() + to);
    std::copy_n(speeds + from, part, speed_.begin() + to);
    std::copy_n(corners.acceleration.begin() + from, part, acceleration_.begin() + to);
    std::copy_n(corners.entry_limit.begin() + from, part, entry_limit_.begin() + to);
    first += static_cast<std::size_t>(part);
    size_ += static_cast<std::size_t>(part);
    if (size_ == longest) commit(longest - ahead);
  }
}

/// Plans the whole window to a stop and gives the time of its first `count` segments. In squares of speeds
/// nothing but a sum and a comparison waits for the segment before.
SpeedWindow::Planned SpeedWindow::plan(std::size_t count) const {
  std::array<double, longest + 1 + lanes> squares{};
  for (std::size_t i = size_; i-- > 1;)
    squares[i] = std::min(entry_limit_[i], squares[i + 1] + 2 * acceleration_[i] * length_[i]);
  squares[0] = entry_speed_squared_;
  for (std::size_t i = 0; i < count; ++i)
    squares[i + 1] = std::min(squares[i + 1], squares[i] + 2 * acceleration_[i] * length_[i]);
  Planned planned{0, squares[count]};
  Column speeds{}, seconds{};
  std::size_t const whole = in_lanes(count);
  for (std::size_t k = 0; k <= whole; ++k)
    speeds[k] = std::sqrt(squares[k]);
  for (std::size_t k = 0; k < whole; ++k)
    seconds[k] = seconds_over(length_[k], speeds[k], speeds[k + 1], speed_[k], acceleration_[k]);
  for (std::size_t i = 0; i < count; ++i)
    planned.seconds += seconds[i];
  return planned;
}

void SpeedWindow::commit(std::size_t count) {
  Planned const planned = plan(count);
  seconds_ += planned.seconds;
  entry_speed_squared_ = planned.exit_speed_squared;
  for (Column* column : {&length_, &speed_, &acceleration_, &entry_limit_})
    std::copy(column->begin() + static_cast<std::ptrdiff_t>(count),
              column->begin() + static_cast<std::ptrdiff_t>(size_), column->begin());
  size_ -= count;
}

void SpeedWindow::stop() {
  if (size_ == 0) return;
  commit(size_);
  entry_speed_squared_ = 0;
}

} // namespace restep::motion
