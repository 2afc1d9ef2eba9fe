// Says reference-point moves in the words that the control has.
//   in   G28 Z0 / G28 X0 Y0 / G0 X5 Y5      on a control without G28 and G53, clearance height Z11
//   out  G0 Z11             / G0 X5 Y5      and a warning that the table does not come forward
//
// A program sends Z to its reference point to be high up, and X and Y to bring the part to the operator. High
// up can be had by the machine's own retract; where the table stands is a convenience. What must not happen
// is that the program cuts at a place that it never gave, in the belief that the axes stand at a reference
// point.

#include "transform/reference_moves.hpp"

#include "motion/arc.hpp"
#include "transform/block_stage.hpp"
#include "transform/record.hpp"
#include "transform/route.hpp"
#include "transform/touch_off.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <string>

namespace restep::transform {

using motion::is_known;
using motion::RetractPolicy;
using motion::Step;
using motion::unknown;
using motion::Vec3;

namespace {

constexpr std::uint8_t x_and_y = 3, z_alone = 4, all_axes = 7;

class ReferenceMoves final : public BlockStage {
public:
  ReferenceMoves(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context)
      , clearance_(clearance_of(context))
      , length_in_force_(!uses_length()) {}

private:
  static constexpr std::string_view stage_name = "reference-moves";

  Context& context_;
  Clearance const clearance_;
  Vec3 at_ = motion::unknown_position;
  bool replaced_[3] = {false, false, false}; ///< the program believes the axis to be at a reference point
  bool length_in_force_;                     ///< Z is where the tip is
  TouchOffPhase touching_off_;

  bool uses_length() const { return context_.survey.length_offset && context_.abilities.length_offset; }

  bool passes(motion::Stretch const& cuts) override {
    touching_off_ = {};
    at_ = cuts.end();
    std::fill(std::begin(replaced_), std::end(replaced_), false); // both ends of a cut are known
    return true;
  }

  void handle(std::span<Step> block) override {
    for (Step& step : block)
      if (stays(step)) keep(step, !only_prepares(step.event));
  }

  /// Brings one step to where the axes are; false when it is left out.
  bool stays(Step& step) {
    using namespace motion;
    if (touching_off_.take(step)) return true; // it says its own heights and leaves X and Y alone
    if (auto* move = motion_of(step)) {
      continue_from(step, move->from, &move->to);
    } else if (auto* hole = std::get_if<Cycle>(&step.event)) {
      Vec3 end = hole->hole;
      end[motion::axes_of(hole->plane).normal] = hole->clear;
      continue_from(step, hole->from, nullptr);
      arrive(end);
    } else if (auto* touch = std::get_if<Probe>(&step.event)) {
      continue_from(step, touch->from, &touch->to);
      for (int axis = 0; axis < 3; ++axis)
        if (!(touch->to[axis] == touch->from[axis])) forget(axis);
    } else if (auto* home = std::get_if<Home>(&step.event)) {
      return go_home(step, *home);
    } else if (auto* move_to = std::get_if<MachineMove>(&step.event)) {
      return go_in_machine_coordinates(step, *move_to);
    } else if (auto const* length = std::get_if<LengthOffset>(&step.event)) {
      length_in_force_ = length->active || !uses_length();
      forget(2);
    } else if (std::holds_alternative<ToolChange>(step.event)) {
      length_in_force_ = !uses_length();
      if (uses_length()) forget(2);
    } else if (auto const* carried = std::get_if<Carried>(&step.event)) {
      if (carried->motion_unknown) forget_all();
    } else if (std::holds_alternative<WorkOffset>(step.event) ||
               std::holds_alternative<SetOrigin>(step.event) ||
               std::holds_alternative<OffsetChange>(step.event)) {
      forget_all();
    }
    return true;
  }

  void forget(int axis) { at_[axis] = unknown; }
  void forget_all() { at_ = motion::unknown_position; }

  void arrive(Vec3 to) {
    for (int axis = 0; axis < 3; ++axis) {
      if (!is_known(to[axis])) continue;
      at_[axis] = to[axis];
      replaced_[axis] = false;
    }
  }

  /// Fills in the coordinates of axes that stayed where they were.
  void continue_from(Step& step, Vec3& from, Vec3* to) {
    for (int axis = 0; axis < 3; ++axis) {
      if (is_known(from[axis])) replaced_[axis] = false;
      if (!replaced_[axis]) continue;
      from[axis] = at_[axis];
      if (to == nullptr || is_known((*to)[axis])) continue;
      refuse_cut(step, axis);
      (*to)[axis] = at_[axis];
    }
    for (int axis = 0; axis < 3; ++axis)
      if (!replaced_[axis]) at_[axis] = to ? (*to)[axis] : from[axis];
    if (to) arrive_where_given(*to);
  }

  void arrive_where_given(Vec3 to) {
    for (int axis = 0; axis < 3; ++axis)
      if (replaced_[axis] && is_known(to[axis]) && !(to[axis] == at_[axis])) {
        at_[axis] = to[axis];
        replaced_[axis] = false;
      }
  }

  /// The place of an axis is the reference point's for the program and another one for this machine.
  void refuse_cut(Step const& step, int axis) {
    auto const* move = motion_of(step);
    bool const cuts = !move || is_cutting(*move);
    bool const incremental = step.modes.distance == motion::Distance::incremental;
    if (!cuts && !incremental) return;
    context_.findings.add(
        text::Severity::error, "reference-left-out",
        fmt::format("{} goes on from the reference point, but the control cannot go there", "XYZ"[axis]),
        fmt::format("give {} by its coordinate (G90) before this block", "XYZ"[axis]), step.place);
  }

  bool go_home(Step& step, motion::Home& move) {
    bool const has_words =
        context_.abilities.home || (context_.abilities.home_all_axes && move.axes == all_axes);
    if (has_words) {
      for (int axis = 0; axis < 3; ++axis)
        if (replaced_[axis]) move.from[axis] = at_[axis];
      for (int axis = 0; axis < 3; ++axis)
        if (move.axes >> axis & 1) {
          forget(axis);
          replaced_[axis] = false;
        }
      return true;
    }
    replace(step, move.from, move.axes, move.second ? "G30" : "G28");
    return false;
  }

  bool go_in_machine_coordinates(Step& step, motion::MachineMove& move) {
    std::uint8_t axes = 0;
    for (int axis = 0; axis < 3; ++axis)
      if (is_known(move.to[axis])) axes = static_cast<std::uint8_t>(axes | 1 << axis);
    if (context_.abilities.machine_coordinates) {
      for (int axis = 0; axis < 3; ++axis) {
        if (replaced_[axis]) move.from[axis] = at_[axis];
        if (!is_known(move.to[axis])) continue;
        forget(axis);
        replaced_[axis] = false;
      }
      return true;
    }
    if (!move.rapid) {
      context_.findings.add(text::Severity::error, "machine-coordinates",
                            "a cut in machine coordinates, and the control has no G53",
                            "give the cut in the coordinates of a work offset", step.place);
      return true;
    }
    replace(step, move.from, axes, "G53");
    return false;
  }

  void replace(Step const& step, Vec3 from, std::uint8_t axes, std::string_view word) {
    for (int axis = 0; axis < 3; ++axis)
      if (is_known(from[axis]) || !replaced_[axis]) at_[axis] = from[axis];
    if (axes & z_alone) retract(step, word);
    if (axes & x_and_y)
      context_.findings.add(
          text::Severity::warning, "reference-left-out",
          fmt::format("{} of {} left out: the control has no word for it, so the table stays where it is",
                      word,
                      (axes & x_and_y) == x_and_y ? "X and Y"
                      : axes & 1                  ? "X"
                                                  : "Y"),
          "move the table by hand where it is in the way", step.place);
    for (int axis = 0; axis < 3; ++axis)
      if (axes >> axis & 1) replaced_[axis] = true;
  }

  void retract(Step const& step, std::string_view word) {
    if (context_.machine.retract == RetractPolicy::machine_top && context_.abilities.machine_coordinates) {
      insert(motion::MachineMove{true, at_, {unknown, unknown, context_.machine.retract_height}, 0}, step);
      forget(2);
    } else if (context_.machine.retract == RetractPolicy::home && context_.abilities.home) {
      insert(motion::Home{false, z_alone, {unknown, unknown, at_.z}, at_}, step);
      forget(2);
    } else if (!clearance_.known() || !length_in_force_) {
      context_.findings.add(
          text::Severity::warning, "reference-left-out",
          fmt::format("{} of Z left out: the control has no word for it, and {}", word,
                      clearance_.known() ? "no length offset is in force for this tool"
                                         : "the program cuts nothing that a clearance height could be above"),
          "look at what the next move does before running the program", step.place);
      return;
    } else if (is_known(at_.z) && clearance_.parked(at_.z)) {
      record(context_, step, stage_name, [&] {
        return fmt::format("{} of Z left out: the tool stands at Z{} already", word,
                           length_words(at_.z, step.modes.units));
      });
      return;
    } else {
      motion::Motion up;
      up.from = at_;
      up.to = {at_.x, at_.y, clearance_.park};
      insert(up, step);
      at_ = up.to;
    }
    ++context_.retracts_inserted;
    record(context_, step, stage_name,
           [&] { return fmt::format("{} of Z -> the machine's own retract", word); });
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_reference_moves(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ReferenceMoves>(upstream, context);
}

} // namespace restep::transform
