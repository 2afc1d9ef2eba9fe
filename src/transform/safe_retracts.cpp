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

#include "transform/record.hpp"
#include "transform/safe_retracts_stage.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>
#include <utility>

namespace restep::transform {

using motion::is_known;
using motion::RetractPolicy;
using motion::Step;
using motion::unknown;
using motion::Vec3;

SafeRetracts::SafeRetracts(motion::StepSource& upstream, Context& context)
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
  context_.findings.add(text::Severity::warning, "retract-policy",
                        "the control has no words for the machine's retract (G53 or G28): retracts go to the "
                        "clearance height instead",
                        "set retract = \"clearance\" in the machine's profile", text::Place{});
}

// The machine is where the program believes it to be, and the cuts say where that is.
bool SafeRetracts::passes(motion::Stretch const& cuts) {
  touching_off_ = {};
  if (lost_[0] || lost_[1] || lifted()) return false;
  double const* const z = cuts.z();
  if (std::any_of(z, z + cuts.size + 1, [z](double height) { return height != z[0]; }))
    displaced_ = measured_ = stand_.top = false;
  moved_ = true;
  in_cycle_ = false;
  stand_.at = source_ = cuts.end();
  high_ = clearance_.parked(stand_.at.z);
  return true;
}

void SafeRetracts::handle(std::span<Step> block) {
  for (Step& step : block) {
    take(step);
    keep(step, !only_prepares(step.event));
  }
}

void SafeRetracts::take(Step& step) {
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

void SafeRetracts::sync(Vec3 from) {
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

void SafeRetracts::change_coordinates() {
  if (!lifted()) source_.z = unknown;
  stand_.at = motion::unknown_position;
  told_ = unknown;
  measured_ = false;
}

void SafeRetracts::lose_height() {
  if (is_known(stand_.at.z)) told_ = stand_.at.z;
  stand_.at.z = unknown;
}

double SafeRetracts::said_height(double z) const {
  double const digit = context_.resolution.length;
  return !is_known(stand_.at.z) && std::abs(told_ - z) < digit / 2 ? z + digit : z;
}

void SafeRetracts::stand_at(Vec3 to) {
  if (is_known(to.z) && !(to.z == stand_.at.z)) stand_.top = false;
  if (is_known(to.z)) high_ = clearance_.parked(to.z);
  if (is_known(to.x)) lost_[0] = false;
  if (is_known(to.y)) lost_[1] = false;
  stand_.at = to;
}

void SafeRetracts::arrive(Vec3 to) {
  if (is_known(to.z) && !(to.z == stand_.at.z)) displaced_ = measured_ = false;
  stand_at(to);
  source_ = to;
}

void SafeRetracts::insert_rapid(Vec3 to, Step const& cause) {
  motion::Motion move;
  move.from = stand_.at;
  move.to = to;
  insert(move, cause);
  stand_at(to);
}

bool SafeRetracts::retract(Step const& cause, std::string_view why, double at_least) {
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
      // A change by hand is a message and a stop: both belong to one block of the program.
      if (std::exchange(length_missed_at_, cause.place.line) == cause.place.line) return false;
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

void SafeRetracts::forget_axes(std::uint8_t axes) {
  for (int axis = 0; axis < 3; ++axis)
    if (axes >> axis & 1) stand_.at[axis] = source_[axis] = unknown;
  if (axes & z_alone) told_ = unknown;
}

void SafeRetracts::touch_off(Step const& step) {
  double z;
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

void SafeRetracts::before_tool_change(Step const& cause) {
  // The tool that the program begins with stands where the operator left it, at a height nobody measured.
  if (by_plate_ && !moved_ && policy_ == RetractPolicy::clearance) return;
  bool const clear = stand_.top || (policy_ == RetractPolicy::clearance && high_);
  if (!clear) retract(cause, "before the tool change");
}

void SafeRetracts::at_stop(Step const& step, motion::StopKind kind) {
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

void SafeRetracts::offset_change(Step const& step, motion::OffsetChange const& change) {
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

std::unique_ptr<motion::StepSource> make_safe_retracts(motion::StepSource& upstream, Context& context) {
  return std::make_unique<SafeRetracts>(upstream, context);
}

} // namespace restep::transform
