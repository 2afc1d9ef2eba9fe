// Completes tool changes, and replaces them where the machine has none.
//   in   M3 M8 ... T3 M6 ... G1 X10
//   out  M3 M8 ... M5 / M9 / T3 M6 ... M3 / M8 / G1 X10                   with a tool changer
//        M3 M8 ... M5 / M9 / (MSG, insert T3: bull 3 r0.3) / M0 ... M3 / M8 / G1 X10     by hand
//
// Controls differ in what M6 does to a turning spindle: some stop it, some refuse, some do neither. Said in
// words it is the same on all of them. What the program switches on again by itself is not doubled. By hand,
// hands go near the cutter: everything must stand still before the control waits.
//
// A machine with a contact plate (its profile says so) measures the tool behind the stop, see touch_off.cpp:
//   out  (MSG, insert T3) / (MSG, contact plate under T3 ...) / M0 / probing / (MSG, take the plate away ...)
//   / M0

#include "transform/tool_change.hpp"

#include "transform/block_stage.hpp"
#include "transform/control_text.hpp"
#include "transform/record.hpp"
#include "transform/route.hpp"
#include "transform/spindle_state.hpp"
#include "transform/touch_off.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <string>
#include <utility>

namespace restep::transform {

using motion::CoolantKind;
using motion::Rotation;
using motion::Step;

namespace {

bool cuts(motion::Event const& event) {
  if (auto const* motion = std::get_if<motion::Motion>(&event)) return is_cutting(*motion);
  return std::holds_alternative<motion::Cycle>(event);
}

class ToolChanges final : public BlockStage {
public:
  ToolChanges(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context)
      , by_hand_(context.machine.tool_change == motion::ToolChangePolicy::by_hand ||
                 !context.abilities.tool_change)
      , by_plate_(context.abilities.touch_off_by_plate) {
    if (by_plate_) check_systems();
  }

private:
  static constexpr std::string_view stage_name = "tool-change";

  Context& context_;
  bool by_hand_;
  bool by_plate_;
  SpindleState state_;
  SpindleState before_change_; ///< what was on when the tool was changed; all off when nothing is owed
  int tool_ = -1;
  bool touched_off_ = false; ///< since the last change, or the operator was asked to
  bool measured_ = false;    ///< an offset of ours is in force

  bool passes(motion::Stretch const& /*cuts*/) override {
    return !before_change_.turns() && !before_change_.wet();
  }

  void handle(std::span<Step> block) override {
    for (Step const& step : block)
      take(step);
  }

  void take(Step const& step) {
    if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
      if (by_hand_) return change_by_hand(step, change->tool);
      switch_off(step);
      tool_ = change->tool;
      touched_off_ = false;
    } else if (std::holds_alternative<motion::ToolSelect>(step.event)) {
      if (by_hand_) return; // the message of the change names the tool
    } else if (auto const* offset = std::get_if<motion::LengthOffset>(&step.event)) {
      if (!context_.abilities.length_offset) return touch_off(step, *offset);
    } else if (measured_ && loses_the_offset(step.event)) {
      context_.findings.add(
          text::Severity::error, "touch-off-lost",
          "the program changes the offset of Z that touching off on the plate has set",
          "take this block out, or let the operator touch off (touch_off.how = \"by_operator\" in "
          "the machine's profile)",
          step.place);
    } else if (cuts(step.event)) {
      switch_on(step);
    } else if (std::holds_alternative<motion::SpindleTurn>(step.event)) {
      before_change_.rotation = Rotation::stop; // the program says it itself
    } else if (std::holds_alternative<motion::Coolant>(step.event)) {
      before_change_.mist = before_change_.flood = false;
    } else if (std::holds_alternative<motion::Stop>(step.event)) {
      // Whoever presses start after a stop of the program's own sees a spindle that stands; the end owes
      // nothing.
      if (std::get<motion::Stop>(step.event).kind >= motion::StopKind::end) before_change_ = {};
    }
    state_.take(step.event);
    keep(step, !only_prepares(step.event));
  }

  void put(motion::Event const& event, Step const& cause) {
    insert(event, cause);
    state_.take(event);
  }

  void switch_off(Step const& cause) {
    if (!state_.turns() && !state_.wet()) return;
    bool const turned = state_.turns();
    if (turned) before_change_.rotation = state_.rotation;
    if (state_.wet()) {
      before_change_.mist = state_.mist;
      before_change_.flood = state_.flood;
    }
    bool const wet = state_.wet();
    if (turned) put(motion::SpindleTurn{Rotation::stop}, cause);
    if (wet) put(motion::Coolant{CoolantKind::off}, cause);
    record(context_, cause, stage_name, [&] {
      return std::string(turned && wet ? "spindle and coolant"
                         : turned      ? "spindle"
                                       : "coolant") +
             " off before the tool change";
    });
  }

  void switch_on(Step const& cause) {
    SpindleState const owed = std::exchange(before_change_, {});
    bool const turn = owed.turns() && !state_.turns();
    bool const wet = owed.wet() && !state_.wet();
    if (!turn && !wet) return;
    if (turn) put(motion::SpindleTurn{owed.rotation}, cause);
    if (wet && owed.mist) put(motion::Coolant{CoolantKind::mist}, cause);
    if (wet && owed.flood) put(motion::Coolant{CoolantKind::flood}, cause);
    record(context_, cause, stage_name, [&] {
      return std::string(turn && wet ? "spindle and coolant"
                         : turn      ? "spindle"
                                     : "coolant") +
             " on again before the first cut after the tool change";
    });
  }

  void say(std::string text, Step const& cause) {
    context_.texts.push_back(fit_for_comment(std::move(text)));
    insert(motion::Comment{context_.texts.back(), true}, cause);
  }

  void change_by_hand(Step const& cause, int number) {
    if (number == tool_) {
      record(context_, cause, stage_name,
             [&] { return fmt::format("T{} is in the spindle already: no stop", number); });
      return;
    }
    switch_off(cause);
    std::string text = number == 0 ? std::string("take the tool out") : fmt::format("insert T{}", number);
    if (auto const* tool = context_.tools.find(number)) {
      text += ": " + cutter::describe(*tool);
      if (!tool->name.empty()) text += ", " + tool->name;
    } else if (number != 0) {
      context_.findings.add(
          text::Severity::note, "tool-unknown",
          fmt::format("T{} is not in the tool table: the message cannot say what to insert", number),
          "add it to the tool table, or give --tool 'T" + std::to_string(number) + " = ...'", cause.place);
    }
    say(text, cause);
    touched_off_ = (by_plate_ || !context_.abilities.length_offset) && number != 0;
    tool_ = number;
    if (touched_off_ && by_plate_) {
      measure(cause);
    } else {
      if (touched_off_)
        say(fmt::format("touch off Z with T{}: no length offset on this control", number), cause);
      insert(motion::Stop{motion::StopKind::program}, cause);
    }
    record(context_, cause, stage_name,
           [&] { return fmt::format("T{} M6 -> message and stop: the tool is changed by hand", number); });
  }

  /// G10 stores the offset of one system; in the others the tool would have another height.
  void check_systems() {
    if (!context_.machine.plate.stores) return;
    std::set<int> systems;
    for (motion::SystemReach const& one : context_.survey.systems)
      systems.insert(one.system);
    if (systems.size() > 1)
      context_.findings.add(text::Severity::error, "touch-off-systems",
                            "touching off with G10 sets one work offset, and the program uses several",
                            "use touch_off.sets = \"G92\" in the machine's profile", text::Place{});
  }

  bool loses_the_offset(motion::Event const& event) const {
    if (auto const* shift = std::get_if<motion::OffsetChange>(&event))
      return shift->code == 920 ? motion::is_known(shift->values.z)
                                : shift->code != 520 && !context_.machine.plate.stores;
    auto const* origin = std::get_if<motion::SetOrigin>(&event);
    return origin && motion::is_known(origin->origin.z);
  }

  /// The rest of the message, the stop, and down to the contact plate.
  void measure(Step const& cause) {
    motion::ContactPlate const& plate = context_.machine.plate;
    std::string const tool = tool_ > 0 ? fmt::format("T{}", tool_) : "the tool";
    say(fmt::format("contact plate under {}, clip on: it goes down {:g} mm at most", tool, plate.search),
        cause);
    insert(motion::Stop{motion::StopKind::program}, cause);
    Clearance const clearance = clearance_of(context_);
    double const contact = plate.face + plate.thickness;
    double const lift = std::max(contact + plate.back_off, clearance.known() ? clearance.park : contact);
    for (motion::Event const& event : touch_off_moves(plate, lift))
      insert(event, cause);
    say(fmt::format("take the plate away and the clip off {}, do not move the axes", tool), cause);
    insert(motion::Stop{motion::StopKind::program}, cause);
    if (!measured_)
      context_.findings.add(
          text::Severity::warning, "touch-off-plate",
          fmt::format(
              "the program touches tools off: it drives each down by up to {:g} mm until it meets the plate",
              plate.search),
          fmt::format("look that the plate is {:g} mm thick, lies flat on Z{:g} under the tool, and that its "
                      "circuit works: touch it to the tool by hand before the first start",
                      plate.thickness, plate.face),
          cause.place);
    measured_ = touched_off_ = true;
    record(context_, cause, stage_name, [&] {
      return fmt::format("{} is touched off on the contact plate: it is {:g} mm thick on Z{:g}", tool,
                         plate.thickness, plate.face);
    });
  }

  void touch_off(Step const& cause, motion::LengthOffset const& offset) {
    if (offset.active && !touched_off_ && by_plate_) {
      switch_off(cause);
      measure(cause);
    } else if (offset.active && !touched_off_) {
      switch_off(cause);
      say(tool_ > 0 ? fmt::format("touch off Z with T{}: no length offset on this control", tool_)
                    : "touch off Z with this tool: no length offset on this control",
          cause);
      insert(motion::Stop{motion::StopKind::program}, cause);
      touched_off_ = true;
    }
    record(context_, cause, stage_name, [&] {
      return offset.active ? fmt::format("G43 H{} left out: {}, touch off instead", offset.index,
                                         by_plate_ ? "lengths are not measured on this machine"
                                                   : "the control has no length offset")
                           : std::string("G49 left out: no length offset is in force");
    });
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_tool_change(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ToolChanges>(upstream, context);
}

} // namespace restep::transform
