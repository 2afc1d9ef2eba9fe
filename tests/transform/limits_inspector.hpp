#pragma once

#include "steps.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace restep::transform::testing {

using motion::PathKind;
using motion::Rotation;

/// Points of the material, a millimetre apart, by means of their own: a point is gone when the tool's disc
/// stood over it at some place on the way of a cut, lower than it. Made for flat tools.
class Points {
public:
  Points() { heights_.fill(100); }

  /// Only what stands in a block of stock, a point's distance away from its sides.
  explicit Points(Block const& stock) {
    heights_.fill(-1e9);
    for (int x = -half; x <= half; ++x)
      for (int y = -half; y <= half; ++y)
        if (x >= stock.low.x + 1 && x <= stock.high.x - 1 && y >= stock.low.y + 1 && y <= stock.high.y - 1)
          heights_[static_cast<std::size_t>((x + half) * (2 * half + 1) + y + half)] = stock.high.z;
  }

  /// A point in the middle of the tool stands higher than its tip.
  bool stands_under(Vec3 tip, double radius) {
    bool stands = false;
    around(tip, radius / 4, [&](double& height) { stands = stands || height > tip.z + 0.1 + 1e-6; });
    return stands;
  }

  void cut(motion::Motion const& move, double radius) {
    double const length = motion::length(move);
    int const places = 1 + static_cast<int>(length / 0.2);
    for (int i = 0; i <= places; ++i) {
      Vec3 const tip = motion::point_at(move, static_cast<double>(i) / places);
      around(tip, radius, [&](double& height) { height = std::min(height, tip.z); });
    }
  }

  /// The way of a rapid meets a point that stands.
  bool meets(motion::Motion const& move, double radius) {
    double const length = motion::length(move);
    int const places = 1 + static_cast<int>(length / 0.2);
    bool met = false;
    for (int i = 0; i <= places; ++i) {
      Vec3 const tip = motion::point_at(move, static_cast<double>(i) / places);
      around(tip, radius, [&](double& height) { met = met || height > tip.z; });
    }
    return met;
  }

private:
  static constexpr int half = 110;
  std::array<double, (2 * half + 1) * (2 * half + 1)> heights_;

  template <class Do>
  void around(Vec3 tip, double radius, Do const& act) {
    for (int x = static_cast<int>(std::ceil(tip.x - radius)); x <= tip.x + radius; ++x)
      for (int y = static_cast<int>(std::ceil(tip.y - radius)); y <= tip.y + radius; ++y)
        if (std::abs(x) <= half && std::abs(y) <= half && std::hypot(x - tip.x, y - tip.y) <= radius)
          act(heights_[static_cast<std::size_t>((x + half) * (2 * half + 1) + y + half)]);
  }
};

/// What is wrong with a program for a machine, told by means of its own; empty when nothing is.
/// `lowest_rapid` is the height from which sideways rapids are safe. The tools of the program are 1, 2, 3 in
/// this order.
class Inspector {
public:
  Inspector(motion::Machine const& machine, double lowest_rapid, cutter::ToolTable const* tools = nullptr,
            PartSetting const* setting = nullptr)
      : machine_(machine)
      , tools_(tools)
      , lowest_rapid_(lowest_rapid) {
    if (setting != nullptr && setting->stock) in_block_.emplace(*setting->stock);
    if (setting != nullptr) numbers_ = setting->tool_numbers;
  }

  std::string complaint(std::vector<Step> const& steps) {
    for (std::size_t i = 0; i < steps.size(); ++i)
      if (std::string const what = look(steps[i]); !what.empty())
        return what + " at step " + std::to_string(i);
    return {};
  }

  /// A point on the way of a move, `share` from its start.
  static Vec3 at(motion::Motion const& move, double share) {
    Vec3 point = move.from + (move.to - move.from) * share;
    if (!is_arc(move)) return point;
    Circle const circle(move);
    double const angle = circle.start + (circle.ccw ? 1 : -1) * circle.turn * share;
    point[circle.first] = move.centre[circle.first] + circle.radius * std::cos(angle);
    point[circle.second] = move.centre[circle.second] + circle.radius * std::sin(angle);
    return point;
  }

private:
  motion::Machine const& machine_;
  cutter::ToolTable const* tools_;
  int asked_for_ = 0;
  double lowest_rapid_;
  bool turns_ = false, top_ = false;
  double waited_ = 0;
  double rpm_ = 0;
  Points points_;
  std::optional<Points> in_block_; ///< what certainly stands of the job's stock
  std::map<int, int> numbers_;     ///< the program's tool number to the machine's
  int number_ = 0;                 ///< of the tool in the spindle, the program's
  int changes_ = 0;
  double radius_ = 0; ///< of the tool; 0 when it is not known

  // The plate. An offset of Z: what the control calls the height where the tool stands.
  bool measured_ = false;
  int probings_ = 0;
  double probing_feed_ = 0;

  int on_machine(int number) const {
    auto const found = numbers_.find(number);
    return found == numbers_.end() ? number : found->second;
  }
  bool by_plate() const { return machine_.touch_off == motion::TouchOffPolicy::plate; }

  std::string touch(double from, double to, double feed) {
    if (turns_) return "a turning tool on the plate";
    motion::ContactPlate const& plate = machine_.plate;
    ++probings_;
    if (probings_ == 1 && !(from - to <= plate.search)) return "a search that is too long";
    if (probings_ == 2 && (!(from - to <= 2 * plate.back_off) || !(feed < probing_feed_)))
      return "a second probing that is not short and slow";
    if (probings_ > 2) return "a third probing";
    probing_feed_ = feed;
    return {};
  }

  void call_height(double z) {
    if (probings_ == 2 && z == machine_.plate.face + machine_.plate.thickness) measured_ = true;
  }

  std::string look(Step const& step) {
    motion::Event const& event = step.event;
    if (auto const* speed = std::get_if<motion::SpindleSpeed>(&event)) rpm_ = speed->rpm;
    if (auto const* speed = std::get_if<motion::SpindleSpeed>(&event))
      return machine_.spindle_max > 0 && speed->rpm > machine_.spindle_max ? "spindle too fast" : "";
    if (auto const* coolant = std::get_if<motion::Coolant>(&event))
      return (coolant->kind == motion::CoolantKind::mist && !machine_.mist) ||
                     (coolant->kind == motion::CoolantKind::flood && !machine_.flood)
                 ? "a coolant that the machine has not"
                 : "";
    if (auto const* turn = std::get_if<motion::SpindleTurn>(&event)) {
      bool const now = turn->rotation != Rotation::stop;
      if (now && !turns_) waited_ = 0;
      turns_ = now;
    } else if (std::holds_alternative<motion::ToolChange>(event)) {
      if (turns_) return "a tool change with a turning spindle";
      if (std::get<motion::ToolChange>(event).tool != on_machine(++changes_)) return "another tool";
      take_tool(changes_);
    } else if (auto const* select = std::get_if<motion::ToolSelect>(&event)) {
      if (select->tool != on_machine(changes_ + 1)) return "another tool is selected";
    } else if (auto const* length = std::get_if<motion::LengthOffset>(&event)) {
      if (by_plate()) return "a length from a table for a tool that is measured";
      if (length->active && length->index != on_machine(number_)) return "the length of another tool";
    } else if (auto const* probe = std::get_if<motion::Probe>(&event)) {
      if (!by_plate()) return "a probing that nobody asked for";
      return touch(probe->from.z, probe->to.z, probe->feed);
    } else if (auto const* shift = std::get_if<motion::OffsetChange>(&event)) {
      call_height(shift->values.z);
    } else if (auto const* origin = std::get_if<motion::SetOrigin>(&event)) {
      call_height(origin->origin.z);
    } else if (auto const* stop = std::get_if<motion::Stop>(&event)) {
      if (turns_) return "a stop with a turning spindle";
      // At the stop behind the plate the operator is asked to move nothing.
      if (stop->kind == motion::StopKind::program && !measured_) top_ = false;
      if (stop->kind == motion::StopKind::program) take_tool(asked_for_);
    } else if (auto const* comment = std::get_if<motion::Comment>(&event)) {
      constexpr std::string_view insert = "insert T"; // by hand
      if (comment->text.starts_with(insert)) {
        asked_for_ = comment->text[insert.size()] - '0';
        if (asked_for_ != ++changes_) return "the operator is asked for another tool";
        measured_ = false;
        probings_ = 0;
      }
    } else if (auto const* dwell = std::get_if<motion::Dwell>(&event)) {
      waited_ += dwell->seconds;
    } else if (std::holds_alternative<motion::Home>(event) ||
               std::holds_alternative<motion::MachineMove>(event)) {
      top_ = true;
    } else if (auto const* hole = std::get_if<motion::Cycle>(&event)) {
      return drill(*hole);
    } else if (auto const* move = motion_of(step)) {
      return is_cutting(*move) ? cut(*move) : rapid(*move);
    }
    return {};
  }

  /// The tools of random_machine, as far as they are in the table.
  void take_tool(int number) {
    number_ = number;
    cutter::Tool const* tool = tools_ ? tools_->find(number) : nullptr;
    radius_ = tool ? tool->radius() : 0;
  }

  std::string rapid(motion::Motion const& move) {
    bool const sideways = (motion::is_known(move.to.x) && !(move.to.x == move.from.x)) ||
                          (motion::is_known(move.to.y) && !(move.to.y == move.from.y));
    double const low = std::min(move.from.z, move.to.z);
    // Where nothing is cut no height is safer than another.
    bool const high = lowest_rapid_ <= -1e9           ? true
                      : motion::is_known(move.from.z) ? low >= lowest_rapid_ - 1e-9
                                                      : top_;
    if (motion::is_known(move.to.z) && !(move.to.z == move.from.z)) top_ = false;
    bool const lower = !(move.to.z >= move.from.z);
    if (in_block_ && radius_ > 0 && motion::is_known(move.to) && (sideways || lower) &&
        in_block_->stands_under(move.to, radius_))
      return "a rapid into the stock";
    if (!sideways || high) return "";
    if (!move.clear) return "a sideways rapid that is too low";
    if (radius_ == 0) return "a low rapid of a tool that nobody knows";
    return points_.meets(move, radius_) ? "a low rapid through material" : "";
  }

  /// mm/min along the path
  double speed_of(double feed, motion::FeedMode mode, double length) const {
    return mode == motion::FeedMode::per_minute     ? feed
           : mode == motion::FeedMode::inverse_time ? feed * length
                                                    : feed * rpm_;
  }

  std::string may_cut() const {
    if (by_plate() && !measured_) return "a cut with a tool that nobody measured";
    if (!turns_) return "a cut with a standing spindle";
    if (machine_.spindle_dwell && waited_ < machine_.spindle_start_seconds - 1e-9)
      return "a cut before the spindle is at speed";
    return {};
  }

  std::string drill(motion::Cycle const& hole) {
    Vec3 const over{hole.hole.x, hole.hole.y, hole.from.z};
    motion::Motion across;
    across.from = hole.from;
    across.to = over;
    if (std::string const what = rapid(across); !what.empty()) return what;
    motion::Motion down;
    down.path = PathKind::line;
    down.from = {over.x, over.y, hole.retract};
    down.to = hole.hole;
    down.feed = speed_of(hole.feed, hole.feed_mode, motion::length(down));
    return cut(down);
  }

  /// Along a chain of short chords: each axis's share of the feed, and v^2 / r from the turn between chords.
  std::string cut(motion::Motion const& move) {
    top_ = false;
    if (radius_ > 0) points_.cut(move, radius_);
    if (radius_ > 0 && in_block_) in_block_->cut(move, radius_);
    if (std::string const what = may_cut(); !what.empty()) return what;
    double const feed = speed_of(move.feed, move.feed_mode, motion::length(move));
    // A chord of the turn t is shorter than its arc by t^2 / 24, so the share of a helix's rise seems larger.
    constexpr int chords = 400;
    constexpr double chord_error = 2e-5; // t < 2 pi / 400
    Vec3 before = move.from;
    for (int i = 1; i <= chords; ++i) {
      Vec3 const point = at(move, static_cast<double>(i) / chords);
      Vec3 const way = point - before;
      double const length = std::sqrt(way.x * way.x + way.y * way.y + way.z * way.z);
      before = point;
      if (!(length > 0)) continue;
      for (int axis = 0; axis < 3; ++axis)
        if (machine_.max_feed[axis] > 0 &&
            feed * std::abs(way[axis]) / length > machine_.max_feed[axis] * (1 + chord_error))
          return "an axis that feeds too fast";
      if (machine_.max_plunge > 0 && feed * -way.z / length > machine_.max_plunge * (1 + chord_error))
        return "a plunge that is too fast";
    }
    if (is_arc(move) && machine_.acceleration.x > 0) {
      Circle const circle(move);
      double const course = std::hypot(circle.turn * circle.radius, circle.rise);
      double const speed = feed / 60 * circle.turn * circle.radius / course;
      if (speed * speed / circle.radius > machine_.acceleration.x * (1 + 1e-6))
        return "an arc that is too fast";
    }
    return {};
  }

  /// An arc in its plane, seen from the end of the axis that stands on it (NISTIR 6556, 3.5.3).
  struct Circle {
    int first, second, normal;
    double start, radius, turn, rise;
    bool ccw;

    explicit Circle(motion::Motion const& move)
        : first(move.plane == motion::Plane::xy   ? 0
                : move.plane == motion::Plane::zx ? 2
                                                  : 1)
        , second((first + 1) % 3)
        , normal((first + 2) % 3)
        , start(angle(move, move.from))
        , radius(std::hypot(move.from[first] - move.centre[first], move.from[second] - move.centre[second]))
        , turn(0)
        , rise(move.to[normal] - move.from[normal])
        , ccw(move.path == PathKind::arc_ccw) {
      double const end = angle(move, move.to);
      turn = ccw ? end - start : start - end;
      while (turn <= 0)
        turn += 2 * std::numbers::pi;
    }

    double angle(motion::Motion const& move, Vec3 point) const {
      return std::atan2(point[second] - move.centre[second], point[first] - move.centre[first]);
    }
  };
};

inline double lowest_safe_rapid(std::vector<Step> const& steps, motion::Machine const& machine,
                                std::optional<Block> const& stock = {}) {
  if (stock) return stock->high.z + machine.rapid_clearance;
  double highest = -1e9;
  for (Step const& step : steps)
    if (auto const* m = motion_of(step))
      if (is_cutting(*m) && (is_arc(*m) || m->from.x != m->to.x || m->from.y != m->to.y))
        highest = std::max(highest, std::min(m->from.z, m->to.z));
  return highest > -1e9 ? highest + machine.rapid_clearance : -1e9;
}
} // namespace restep::transform::testing
