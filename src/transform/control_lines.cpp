// Puts in the lines that a control wants at certain places.
//   in   % / O1000 / G21 ... T3 M6 ... M30
//   out  % / O1000 / (head) / G21 ... (before) / T3 M6 / (after) ... (end) / M30

#include "transform/control_lines.hpp"

#include "transform/block_stage.hpp"
#include "transform/control_text.hpp"
#include "transform/head.hpp"
#include "transform/record.hpp"

#include <string>

namespace restep::transform {

using motion::ControlWords;
using motion::Step;
using motion::StopKind;

namespace {

class ControlLines final : public BlockStage {
public:
  ControlLines(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context) {}

private:
  static constexpr std::string_view stage_name = "control-lines";

  Context& context_;
  ControlValues values_;
  bool head_done_ = false;

  bool passes(motion::Stretch const& /*cuts*/) override { return head_done_; }

  void handle(std::span<Step> block) override {
    if (!head_done_ && !belongs_to_the_head(block)) {
      head_done_ = true;
      put(context_.habits.head, block.front(), "at the head of the program");
    }
    for (Step const& step : block)
      take(step);
  }

  void take(Step const& step) {
    motion::ControlHabits const& habits = context_.habits;
    if (auto const* select = std::get_if<motion::ToolSelect>(&step.event)) values_.tool = select->tool;
    if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
      values_.tool = change->tool;
      put(habits.before_tool_change, step, "before the tool change");
      keep(step, !only_prepares(step.event));
      put(habits.after_tool_change, step, "after the tool change");
      return;
    }
    if (auto const* stop = std::get_if<motion::Stop>(&step.event)) {
      bool const ends = stop->kind == StopKind::end || stop->kind == StopKind::end_rewind;
      if (ends) put(habits.end, step, "before the end of the program");
      if (stop->kind == StopKind::program) put(habits.before_stop, step, "before the program stop");
    }
    keep(step, !only_prepares(step.event));
  }

  void put(ControlWords const& words, Step const& cause, std::string_view where) {
    if (words.empty()) return;
    for (motion::ControlWord const& word : words)
      insert(event_of(word, values_, context_), cause);
    record(context_, cause, stage_name, [&] { return "the control's own lines put " + std::string(where); });
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_control_lines(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ControlLines>(upstream, context);
}

} // namespace restep::transform
