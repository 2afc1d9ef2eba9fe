// Lets no rapid travel sideways below the clearance height.
//   in   G0 X50 Y20            at Z-2, the highest cut at Z0, a clearance of 5 mm
//   out  G0 Z5 / G0 X50 Y20 / G0 Z-2
//
// A rapid takes the straight way or, on many controls, a bent one, at full speed: nobody can tell from the
// program that the way is free, unless it was traced (trace_rapids.cpp). Up, across and down are free as far
// as the height is. From an unknown height the machine's own retract comes first. A rapid in Z alone is left
// as it is.
//
// Where a retract leaves Z higher than the program believes it to be, sideways rapids stay up, and the height
// is restored before the next cut: by rapid to the clearance height, from there at the cut's own feed.

#include "transform/safe_retracts.hpp"

#include "motion/arc.hpp"
#include "transform/block_stage.hpp"
#include "transform/feed_limit.hpp"
#include "transform/record.hpp"
#include "transform/route.hpp"
#include "transform/touch_off.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

namespace restep::transform {

using motion::is_known;
using motion::RetractPolicy;
using motion::Step;
using motion::unknown;
using motion::Vec3;

namespace {

constexpr std::string_view stage_name = "safe-retracts";
constexpr std::uint8_t x_and_y = 3, z_alone = 4;

class SafeRetracts final : public BlockStage {
public:
  SafeRetracts(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context)
      , clearance_(clearance_of(context))
      , policy_(context.machine.retract)
      , by_plate_(context.abilities.touch_off_by_plate)
      , length_in_force_(!uses_length() && !by_plate_) {
    bool const missing = (policy_ == RetractPolicy::machine_top && !context.abilities.machine_coordinates) ||
                         (policy_ == RetractPolicy::home && !context.abilities.home);
    if (!missing) return;
    policy_ = RetractPolicy::clearance;
    context_.findings.add(
        text::Severity::warning, "retract-policy",
        "the control has no words for the machine's retract (G53 or G28): retracts go to the "
        "clearance height instead",
        "set retract = \"clearance\" in the machine's profile", text::Place{});
  }

private:
  Context& context_;
  Clearance const clearance_;
  RetractPolicy policy_;
  Stand stand_;                            ///< where the machine is
  Vec3 source_ = motion::unknown_position; ///< where the program believes it to be
  bool high_ = false;     ///< the last Z move ended high up, in the coordinates in force then
  double told_ = unknown; ///< the Z that the control believes in while the tool's real height is not known
  bool lost_[2] = {false, false}; ///< X, Y: an operator may have moved them since the program did
  bool displaced_ = false;        ///< a retract of ours moved Z and the program has not moved it since
  bool compensated_ = false;      ///< G41 or G42
  bool by_plate_;                 ///< tools are measured by touch-offs in the program
  bool measured_ = false;         ///< the tool stands where a touch-off left it, whatever the program knows
  bool length_in_force_;          ///< Z is where the tip is: no tool change or G49 since the last G43
  bool moved_ = false;
  bool in_cycle_ = false; ///< the last motion was a cycle
  TouchOffPhase touching_off_;

  void handle(std::span<Step> block) override {
    for (Step& step : block) {
      take(step);
      keep(step, !only_prepares(step.event));
    }
  }

  void take(Step& step) {
    using namespace motion;
    if (touching_off_.take(step)) return touch_off(step);
    if (auto* moved = motion_of(step)) {
      sync(moved->from);
      moved->path == PathKind::rapid ? rapid(step, *moved) : feed(step, *moved);
      in_cycle_ = false;
    } else if (auto* hole = std::get_if<Cycle>(&step.event)) {
      sync(hole->from);
      cycle(step, *hole);
      in_cycle_ = true;
    } else if (auto* to_reference = std::get_if<Home>(&step.event)) {
      sync(to_reference->from);
      home(step, *to_reference);
      in_cycle_ = false;
    } else if (auto* absolute = std::get_if<MachineMove>(&step.event)) {
      sync(absolute->from);
      machine_move(step, *absolute);
      in_cycle_ = false;
    } else if (auto* touch = std::get_if<Probe>(&step.event)) {
      sync(touch->from);
      probe(step, *touch);
      in_cycle_ = false;
    } else if (auto const* compensation = std::get_if<Compensation>(&step.event)) {
      compensated_ = compensation->side != Side::off;
    } else if (std::holds_alternative<ToolChange>(step.event)) {
      before_tool_change(step);
      lose_height(); // another tool, another length
      length_in_force_ = !uses_length();
    } else if (auto const* comment = std::get_if<Comment>(&step.event)) {
      if (step.generated && comment->message) before_tool_change(step); // the request to change it by hand
    } else if (auto const* stop = std::get_if<Stop>(&step.event)) {
      at_stop(step, stop->kind);
    } else if (auto const* change = std::get_if<OffsetChange>(&step.event)) {
      offset_change(step, *change);
    } else if (auto const* carried = std::get_if<Carried>(&step.event)) {
      if (carried->motion_unknown) {
        stand_ = {};
        source_ = unknown_position;
        high_ = false;
      }
    } else if (auto const* length = std::get_if<LengthOffset>(&step.event)) {
      length_in_force_ = length->active || !uses_length();
      if (!lifted()) source_.z = unknown;
      stand_.at.z = told_ = unknown;
    } else if (std::holds_alternative<WorkOffset>(step.event) ||
               std::holds_alternative<SetOrigin>(step.event)) {
      change_coordinates();
    }
  }

  // --- where the machine is and where the program believes it to be

  /// The program's next move starts at `from`. Only Z can differ from where the machine is.
  void sync(Vec3 from) {
    moved_ = true;
    stand_.at.x = lost_[0] ? unknown : from.x;
    stand_.at.y = lost_[1] ? unknown : from.y;
    if (lifted()) {
      // A change of coordinates in between shifts both, or makes both unknown.
      if (is_known(from.z))
        stand_.at.z += from.z - source_.z;
      else if (!measured_)
        stand_.at.z = unknown;
    } else if (is_known(from.z) || is_known(source_.z)) {
      stand_.at.z = from.z;
    }
    source_ = from;
    if (is_known(stand_.at.z)) high_ = clearance_.parked(stand_.at.z);
  }

  /// True when the program believes in a Z where the machine is not.
  bool lifted() const { return is_known(source_.z) && !(stand_.at.z == source_.z); }

  /// Nothing moves, but the place may have another name now; the program's next move tells.
  void change_coordinates() {
    if (!lifted()) source_.z = unknown;
    stand_.at = motion::unknown_position;
    told_ = unknown;
    measured_ = false;
  }

  /// The tool's height is not known any more, though the control still believes in it.
  void lose_height() {
    if (is_known(stand_.at.z)) told_ = stand_.at.z;
    stand_.at.z = unknown;
  }

  /// `z`, or one digit more when the control believes to be at `z` already: a move to where it believes to be
  /// says nothing, and the tool would stay where the operator left it.
  double said_height(double z) const {
    double const digit = context_.resolution.length;
    return !is_known(stand_.at.z) && std::abs(told_ - z) < digit / 2 ? z + digit : z;
  }

  bool uses_length() const { return context_.survey.length_offset && context_.abilities.length_offset; }

  void stand_at(Vec3 to) {
    if (is_known(to.z) && !(to.z == stand_.at.z)) stand_.top = false;
    if (is_known(to.z)) high_ = clearance_.parked(to.z);
    if (is_known(to.x)) lost_[0] = false;
    if (is_known(to.y)) lost_[1] = false;
    stand_.at = to;
  }

  /// The machine and the program are at `to` now (components that are not known stay).
  void arrive(Vec3 to) {
    if (is_known(to.z) && !(to.z == stand_.at.z)) displaced_ = measured_ = false;
    stand_at(to);
    source_ = to;
  }

  // --- what is put in

  void insert_rapid(Vec3 to, Step const& cause) {
    motion::Motion move;
    move.from = stand_.at;
    move.to = to;
    insert(move, cause);
    stand_at(to);
  }

  /// The machine's retract. False when it cannot be made here.
  bool retract(Step const& cause, std::string_view why, double at_least = unknown) {
    if (compensated_) {
      context_.findings.add(text::Severity::warning, "retract-under-compensation",
                            fmt::format("a retract belongs here ({}), but cutter compensation is on", why),
                            "cancel it with G40 before leaving the part", cause.place);
      return false;
    }
    std::string how;
    if (policy_ == RetractPolicy::clearance) {
      if (!clearance_.known()) return false;
      if (!length_in_force_) {
        context_.findings.add(
            text::Severity::warning, "retract-without-length",
            fmt::format("a retract belongs here ({}), but no length offset is in force for this "
                        "tool: a height in work coordinates would be wrong by its length",
                        why),
            "give G43 with its Z before the first X Y move, or give the machine a retract in "
            "machine coordinates",
            cause.place);
        return false;
      }
      double height = clearance_.park;
      if (is_known(at_least)) height = std::max(height, at_least);
      if (is_known(stand_.at.z)) height = std::max(height, stand_.at.z);
      height = said_height(height);
      insert_rapid({stand_.at.x, stand_.at.y, height}, cause);
      how = "to Z" + length_words(height, cause.modes.units);
    } else if (policy_ == RetractPolicy::machine_top) {
      insert(motion::MachineMove{true, stand_.at, {unknown, unknown, context_.machine.retract_height}, 0},
             cause);
      how = "to machine Z" + length_words(context_.machine.retract_height, cause.modes.units);
    } else {
      insert(motion::Home{false, z_alone, {unknown, unknown, stand_.at.z}, stand_.at}, cause);
      how = "to the Z reference point";
    }
    if (policy_ != RetractPolicy::clearance) {
      stand_.at.z = told_ = unknown;
      stand_.top = high_ = true;
    }
    displaced_ = moved_ = true;
    ++context_.retracts_inserted;
    record(context_, cause, stage_name, [&] { return fmt::format("retract {} {}", how, why); });
    return true;
  }

  /// A sideways rapid from a height that neither the program nor this stage knows.
  bool height_unknown() const { return !is_known(stand_.at.z) && !stand_.top; }

  void warn_left_alone(Step const& step, std::string_view reason) {
    context_.findings.add(text::Severity::warning, "rapid-left-alone",
                          fmt::format("a rapid below the clearance height cannot be taken apart: {}", reason),
                          "look at this rapid before running the program", step.place);
  }

  void record_route(Step const& step, Route const& route, Vec3 from, Vec3 target) {
    if (route.lifts) ++context_.retracts_inserted;
    record(context_, step, stage_name, [&] {
      motion::Units const units = step.modes.units;
      std::string const where = place_words(target, units);
      if (!is_known(from.z))
        return fmt::format("rapid to {} Z{}: across at the top, then down", where,
                           length_words(target.z, units));
      double const travel = route.lifts ? route.points[0].z : from.z;
      return fmt::format("rapid to {} from Z{} to Z{}: {}sideways at Z{}{}", where,
                         length_words(from.z, units), length_words(target.z, units),
                         route.lifts ? "up first, " : "", length_words(travel, units),
                         target.z < travel ? ", then down" : "");
    });
  }

  // --- the program's moves

  void rapid(Step& step, motion::Motion& move) {
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
    Route const route = height_unknown() || stays_clear(move, target)
                            ? Route{{target}, 1, false}
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

  /// A low rapid that was shown to be clear is so from where it was looked at, and higher up.
  bool stays_clear(motion::Motion const& move, Vec3 target) const {
    return move.clear && !moves_sideways(stand_.at, move.from) && stand_.at.z >= move.from.z &&
           target.z >= move.to.z;
  }

  /// Writes the actual start and end into a move. `target` is where the machine goes; where a retract left it
  /// higher than the program believes, the program goes on believing.
  void finish_move(motion::Motion& move, Vec3 target) {
    Vec3 const believed = move.to;
    move.from = stand_.at;
    move.to = target;
    arrive(target);
    source_ = believed;
  }

  /// Back over the place where the program believes to be, after an operator may have moved the axes.
  void reposition(Step const& cause) {
    Vec3 back = stand_.at;
    if (lost_[0]) back.x = source_.x;
    if (lost_[1]) back.y = source_.y;
    if (!moves_sideways(stand_.at, back)) return;
    if (!stand_.safe_over(clearance_) && !retract(cause, "before going back over the part")) return;
    back.z = stand_.at.z;
    insert_rapid(back, cause);
  }

  void feed(Step& step, motion::Motion& move) {
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

  /// Back down to where the program believes Z to be. `cut` is the move that follows.
  void restore(Step const& cause, motion::Motion const& cut) {
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

  /// The cut's own feed, as its mode counts it, inside the limits of going straight down.
  double plunge_feed(motion::Motion const& cut, double depth) const {
    double const limit = axis_limit(context_.machine, 2, -1).speed;
    if (cut.feed_mode == motion::FeedMode::per_minute) return std::min(cut.feed, limit);
    if (cut.feed_mode == motion::FeedMode::per_revolution || !(depth > 0)) return cut.feed;
    double const length = motion::length(cut);
    double const speed = is_known(length) && length > 0 ? cut.feed * length : limit;
    return std::min(speed, limit) / depth;
  }

  void cycle(Step& step, motion::Cycle& hole) {
    bool const along_z = hole.plane == motion::Plane::xy;
    Vec3 const over{hole.hole.x, hole.hole.y, unknown};
    double const believed = hole.clear;
    if (along_z && height_unknown() && moves_sideways(stand_.at, over)) {
      retract(step, "before moving sideways from an unknown height", hole.retract);
      if (hole.return_level == motion::ReturnLevel::initial && !is_known(hole.clear))
        hole.clear = stand_.at.z;
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

  void approach(Step& step, Vec3 target) {
    Vec3 const start = stand_.at;
    if (height_unknown() && !retract(step, "before moving sideways from an unknown height", target.z)) return;
    Route const route = safe_route(stand_, target, clearance_);
    for (std::size_t i = 0; i < route.count; ++i)
      insert_rapid(route.points[i], step);
    source_ = stand_.at;
    step.touched = true;
    record_route(step, route, start, target);
  }

  void home(Step& step, motion::Home& move) {
    bool const names_z = move.axes & z_alone;
    bool const sideways = (move.axes & x_and_y) || moves_sideways(stand_.at, move.via);
    if (sideways && !stand_.safe_over(clearance_))
      retract(step, "before moving sideways to a reference point");
    // The intermediate height means nothing on the way to the reference point; below the clearance it is a
    // trap.
    bool const low_via = sideways && is_known(move.via.z) && !clearance_.at_or_above(move.via.z);
    bool const stale_via = lifted() && move.via.z == source_.z;
    if (names_z && (low_via || stale_via)) {
      move.via.z = stand_.at.z;
      step.touched = true;
      if (low_via)
        record(context_, step, stage_name, [] {
          return std::string("the way to the reference point stays up at its intermediate point");
        });
    }
    move.from = stand_.at;
    forget_axes(move.axes);
    if (names_z) {
      stand_.top = high_ = true;
      displaced_ = false;
    }
  }

  void forget_axes(std::uint8_t axes) {
    for (int axis = 0; axis < 3; ++axis)
      if (axes >> axis & 1) stand_.at[axis] = source_[axis] = unknown;
    if (axes & z_alone) told_ = unknown;
  }

  void machine_move(Step& step, motion::MachineMove& move) {
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

  void probe(Step& step, motion::Probe& touch) {
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

  /// A touch-off names the heights itself; the program goes on believing in its own. X and Y stay where the
  /// operator put them.
  void touch_off(Step const& step) {
    double z = stand_.at.z;
    if (auto const* shift = std::get_if<motion::OffsetChange>(&step.event))
      z = shift->values.z;
    else if (auto const* origin = std::get_if<motion::SetOrigin>(&step.event))
      z = origin->origin.z;
    else if (std::holds_alternative<motion::Probe>(step.event))
      z = unknown;
    else if (auto const* up = motion_of(step))
      z = up->to.z;
    else if (std::holds_alternative<motion::Comment>(step.event))
      return before_tool_change(step); // hands go near the tool once more
    else
      return;
    stand_.at.z = told_ = z;
    stand_.top = false;
    high_ = is_known(z) && clearance_.parked(z);
    displaced_ = measured_ = length_in_force_ = true;
  }

  // --- what is not a move

  void before_tool_change(Step const& cause) {
    // The tool that the program begins with stands where the operator left it, at a height nobody measured.
    if (by_plate_ && !moved_ && policy_ == RetractPolicy::clearance) return;
    bool const clear = stand_.top || (policy_ == RetractPolicy::clearance && high_);
    if (!clear) retract(cause, "before the tool change");
  }

  void at_stop(Step const& step, motion::StopKind kind) {
    if (kind == motion::StopKind::end || kind == motion::StopKind::end_rewind) {
      if (moved_ && !high_) retract(step, "before the end of the program");
    } else if (step.generated && kind == motion::StopKind::program) {
      // The tool is changed by hand here, perhaps touched off: Z may be anywhere afterwards.
      before_tool_change(step);
      lose_height();
      stand_.at = motion::unknown_position;
      lost_[0] = lost_[1] = true;
      stand_.top = high_ = measured_ = false;
      length_in_force_ = !uses_length() && !by_plate_;
    }
  }

  void offset_change(Step const& step, motion::OffsetChange const& change) {
    if (change.code == 920 && is_known(change.values.z) && displaced_)
      context_.findings.add(
          text::Severity::error, "offset-after-retract",
          "G92 sets Z where the tool stands, but a retract had to be put in before it, so the tool "
          "stands elsewhere",
          "set the Z zero with a work offset, or before the tool change; --skip safe-retracts "
          "leaves the program's own moves alone",
          step.place);
    change_coordinates();
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_safe_retracts(motion::StepSource& upstream, Context& context) {
  return std::make_unique<SafeRetracts>(upstream, context);
}

} // namespace restep::transform
