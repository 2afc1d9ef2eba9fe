// What safe-retracts makes of the program's own moves: a rapid goes up, across and down, a cut is begun at
// the height that the program believes in, a reference point is not approached through the part.

#include "motion/arc.hpp"
#include "transform/feed_limit.hpp"
#include "transform/record.hpp"
#include "transform/safe_retracts_stage.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string>

namespace restep::transform {

using motion::is_known;
using motion::Step;
using motion::unknown;
using motion::Vec3;

void SafeRetracts::warn_left_alone(Step const& step, std::string_view reason) {
  context_.findings.add(text::Severity::warning, "rapid-left-alone",
                        fmt::format("a rapid below the clearance height cannot be taken apart: {}", reason),
                        "look at this rapid before running the program", step.place);
}

void SafeRetracts::record_route(Step const& step, Route const& route, Vec3 from, Vec3 target) {
  if (route.lifts) ++context_.retracts_inserted;
  record(context_, step, stage_name, [&] {
    motion::Units const units = step.modes.units;
    std::string const where = place_words(target, units);
    if (!is_known(from.z))
      return fmt::format("rapid to {} Z{}: across at the top, then down", where,
                         length_words(target.z, units));
    double const travel = route.lifts ? route.points[0].z : from.z;
    return fmt::format("rapid to {} from Z{} to Z{}: {}sideways at Z{}{}", where, length_words(from.z, units),
                       length_words(target.z, units), route.lifts ? "up first, " : "",
                       length_words(travel, units), target.z < travel ? ", then down" : "");
  });
}

void SafeRetracts::rapid(Step& step, motion::Motion& move) {
  bool const was_lifted = lifted();
  Vec3 target = move.to;
  // The program does not move Z, so the machine stays where a retract left it.
  if (was_lifted && move.to.z == move.from.z) target.z = stand_.at.z;
  bool const sideways = moves_sideways(stand_.at, target);
  bool const rigid = move.compensated || move.rotary;
  if (sideways && !rigid && height_unknown())
    retract(step, "before moving sideways from an unknown height", target.z);
  if (!is_known(target.z)) target.z = stand_.at.z;

  Vec3 const start = stand_.at;
  Route const route = height_unknown() || stays_clear(move, target) ? Route{{target}, 1, false}
                                                                    : safe_route(stand_, target, clearance_);
  if (rigid) {
    if (route.count > 1)
      warn_left_alone(step, move.rotary ? "it also turns a rotary axis" : "cutter compensation is on");
  } else {
    for (std::size_t i = 0; i + 1 < route.count; ++i)
      insert_rapid(route.points[i], step);
    if (route.count > 1) {
      step.touched = true;
      record_route(step, route, start, target);
    }
  }
  if (was_lifted) step.touched = true;
  finish_move(move, target);
}

bool SafeRetracts::stays_clear(motion::Motion const& move, Vec3 target) const {
  return move.clear && !moves_sideways(stand_.at, move.from) && stand_.at.z >= move.from.z &&
         target.z >= move.to.z;
}

void SafeRetracts::finish_move(motion::Motion& move, Vec3 target) {
  Vec3 const believed = move.to;
  move.from = stand_.at;
  move.to = target;
  arrive(target);
  source_ = believed;
}

void SafeRetracts::reposition(Step const& cause) {
  Vec3 back = stand_.at;
  if (lost_[0]) back.x = source_.x;
  if (lost_[1]) back.y = source_.y;
  if (!moves_sideways(stand_.at, back)) return;
  if (!stand_.safe_over(clearance_) && !retract(cause, "before going back over the part")) return;
  back.z = stand_.at.z;
  insert_rapid(back, cause);
}

void SafeRetracts::feed(Step& step, motion::Motion& move) {
  reposition(step);
  if (lifted()) {
    restore(step, move);
  } else if (height_unknown() && moves_sideways(stand_.at, move.to) && !is_arc(move)) {
    if (is_known(move.to.z))
      retract(step, "before the first move from an unknown height");
    else
      context_.findings.add(text::Severity::warning, "height-unknown",
                            "this cut runs at a Z that the program has not given",
                            "give Z before the first cut", step.place);
  }
  Vec3 target = move.to;
  if (!is_known(target.z)) target.z = stand_.at.z;
  finish_move(move, target);
}

void SafeRetracts::restore(Step const& cause, motion::Motion const& cut) {
  double const goal = source_.z;
  double const before = stand_.at.z;
  bool const by_rapid = clearance_.at_or_above(goal) || (is_known(before) && before < goal);
  if (by_rapid) {
    if (double const first = said_height(goal); first != goal)
      insert_rapid({stand_.at.x, stand_.at.y, first}, cause);
    insert_rapid({stand_.at.x, stand_.at.y, goal}, cause);
  } else {
    if (!is_known(before) || !(before <= clearance_.lift + clearance_.tolerance))
      insert_rapid({stand_.at.x, stand_.at.y, said_height(clearance_.lift)}, cause);
    motion::Motion down = cut;
    down.path = motion::PathKind::line;
    down.from = stand_.at;
    down.to = {stand_.at.x, stand_.at.y, goal};
    down.rotary = false;
    down.feed = plunge_feed(cut, motion::length(down));
    insert(down, cause);
    stand_at(down.to);
  }
  displaced_ = false;
  record(context_, cause, stage_name, [&] {
    return fmt::format("back down to Z{} before the cut, {}", length_words(goal, cause.modes.units),
                       by_rapid ? "by rapid" : "at feed from the clearance height");
  });
}

double SafeRetracts::plunge_feed(motion::Motion const& cut, double depth) const {
  double const limit = axis_limit(context_.machine, 2, -1).speed;
  if (cut.feed_mode == motion::FeedMode::per_minute) return std::min(cut.feed, limit);
  if (cut.feed_mode == motion::FeedMode::per_revolution || !(depth > 0)) return cut.feed;
  double const length = motion::length(cut);
  double const speed = is_known(length) && length > 0 ? cut.feed * length : limit;
  return std::min(speed, limit) / depth;
}

void SafeRetracts::cycle(Step& step, motion::Cycle& hole) {
  bool const along_z = hole.plane == motion::Plane::xy;
  Vec3 const over{hole.hole.x, hole.hole.y, unknown};
  double const believed = hole.clear;
  if (along_z && height_unknown() && moves_sideways(stand_.at, over)) {
    retract(step, "before moving sideways from an unknown height", hole.retract);
    if (hole.return_level == motion::ReturnLevel::initial && !is_known(hole.clear)) hole.clear = stand_.at.z;
  }
  if (along_z && lifted()) {
    approach(step, {hole.hole.x, hole.hole.y, std::max(source_.z, hole.retract)});
  } else if (along_z && is_known(stand_.at.z) && !in_cycle_ && moves_sideways(stand_.at, over) &&
             !clearance_.at_or_above(std::max(stand_.at.z, hole.retract))) {
    // Between the holes of a cycle the program's own R plane and G98/G99 hold; only the way there is
    // mended.
    approach(step, {hole.hole.x, hole.hole.y, stand_.at.z});
  }
  hole.from = stand_.at;
  bool const back_to_top =
      stand_.top && hole.return_level == motion::ReturnLevel::initial && !is_known(hole.clear);
  Vec3 end = hole.hole;
  end[motion::axes_of(hole.plane).normal] = hole.clear;
  stand_.top = high_ = false;
  arrive(end);
  source_[motion::axes_of(hole.plane).normal] = believed;
  if (back_to_top) stand_.top = high_ = true;
}

void SafeRetracts::approach(Step& step, Vec3 target) {
  Vec3 const start = stand_.at;
  if (height_unknown() && !retract(step, "before moving sideways from an unknown height", target.z)) return;
  Route const route = safe_route(stand_, target, clearance_);
  for (std::size_t i = 0; i < route.count; ++i)
    insert_rapid(route.points[i], step);
  source_ = stand_.at;
  step.touched = true;
  record_route(step, route, start, target);
}

void SafeRetracts::home(Step& step, motion::Home& move) {
  bool const names_z = move.axes & z_alone;
  bool const sideways = (move.axes & x_and_y) || moves_sideways(stand_.at, move.via);
  if (sideways && !stand_.safe_over(clearance_)) retract(step, "before moving sideways to a reference point");
  // The intermediate height means nothing on the way to the reference point; below the clearance it is a
  // trap.
  bool const low_via = sideways && is_known(move.via.z) && !clearance_.at_or_above(move.via.z);
  bool const stale_via = lifted() && move.via.z == source_.z;
  if (names_z && (low_via || stale_via)) {
    move.via.z = stand_.at.z;
    step.touched = true;
    if (low_via)
      record(context_, step, stage_name,
             [] { return std::string("the way to the reference point stays up at its intermediate point"); });
  }
  move.from = stand_.at;
  forget_axes(move.axes);
  if (names_z) {
    stand_.top = high_ = true;
    displaced_ = false;
  }
}

void SafeRetracts::machine_move(Step& step, motion::MachineMove& move) {
  bool const sideways = is_known(move.to.x) || is_known(move.to.y);
  if (move.rapid && sideways && !stand_.safe_over(clearance_))
    retract(step, "before moving sideways in machine coordinates");
  move.from = stand_.at;
  for (int axis = 0; axis < 3; ++axis)
    if (is_known(move.to[axis])) forget_axes(static_cast<std::uint8_t>(1 << axis));
  if (!is_known(move.to.z)) return;
  stand_.top = high_ = move.rapid && move.to.z >= context_.machine.retract_height - clearance_.tolerance;
  displaced_ = false;
}

void SafeRetracts::probe(Step& step, motion::Probe& touch) {
  reposition(step);
  if (lifted()) {
    motion::Motion as_cut;
    as_cut.from = touch.from;
    as_cut.to = touch.to;
    as_cut.feed = touch.feed;
    restore(step, as_cut);
  }
  touch.from = stand_.at;
  for (int axis = 0; axis < 3; ++axis)
    if (!(touch.to[axis] == touch.from[axis])) forget_axes(static_cast<std::uint8_t>(1 << axis));
  if (!is_known(stand_.at.z)) stand_.top = high_ = false;
}

} // namespace restep::transform
