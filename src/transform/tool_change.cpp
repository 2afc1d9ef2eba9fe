// Completes tool changes, and replaces them where the machine has none.
//   in   M3 M8 ... T3 M6 ... G1 X10
//   out  M3 M8 ... M5 / M9 / T3 M6 ... M3 / M8 / G1 X10                   with a tool changer
//        M3 M8 ... M5 / M9 / (MSG, insert T3: bull 3 r0.3) / M0 ... M3 / M8 / G1 X10     by hand
//
// Controls differ in what M6 does to a turning spindle: some stop it, some refuse, some do neither. Said in
// words it is the same on all of them. What the program switches on again by itself is not doubled. By hand,
// hands go near the cutter: everything must stand still before the control waits.

#include "transform/tool_change.hpp"

#include "transform/block_stage.hpp"
#include "transform/control_text.hpp"
#include "transform/record.hpp"
#include "transform/spindle_state.hpp"

#include <fmt/format.h>

#include <string>

namespace restep::transform {

using motion::CoolantKind;
using motion::Rotation;
using motion::Step;

namespace {

constexpr std::string_view stage_name = "tool-change";

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
                 !context.abilities.tool_change) {}

private:
  Context& context_;
  bool by_hand_;
  SpindleState state_;
  SpindleState before_change_; ///< what was on when the tool was changed; all off when nothing is owed
  int tool_ = -1;
  bool touched_off_ = false; ///< the operator was asked to since the last change

  void handle(std::vector<Step>& block) override {
    for (Step const& step : block)
      handle(step);
  }

  void handle(Step const& step) {
    if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
      if (by_hand_) return change_by_hand(step, change->tool);
      switch_off(step);
      tool_ = change->tool;
      touched_off_ = false;
    } else if (std::holds_alternative<motion::ToolSelect>(step.event)) {
      if (by_hand_) return; // the message of the change names the tool
    } else if (auto const* offset = std::get_if<motion::LengthOffset>(&step.event)) {
      if (!context_.abilities.length_offset) return touch_off(step, *offset);
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
    touched_off_ = !context_.abilities.length_offset && number != 0;
    if (touched_off_)
      say(fmt::format("touch off Z with T{}: no length offset on this control", number), cause);
    insert(motion::Stop{motion::StopKind::program}, cause);
    tool_ = number;
    record(context_, cause, stage_name,
           [&] { return fmt::format("T{} M6 -> message and stop: the tool is changed by hand", number); });
  }

  void touch_off(Step const& cause, motion::LengthOffset const& offset) {
    if (offset.active && !touched_off_) {
      switch_off(cause);
      say(tool_ > 0 ? fmt::format("touch off Z with T{}: no length offset on this control", tool_)
                    : "touch off Z with this tool: no length offset on this control",
          cause);
      insert(motion::Stop{motion::StopKind::program}, cause);
      touched_off_ = true;
    }
    record(context_, cause, stage_name, [&] {
      return offset.active
                 ? fmt::format("G43 H{} left out: the control has no length offset, touch off instead",
                               offset.index)
                 : std::string("G49 left out: the control has no length offset");
    });
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_tool_change(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ToolChanges>(upstream, context);
}

} // namespace restep::transform
