// Frames the program: cautions first, everything off last.
//   in   % / O1000 / G21 ... G1 X10 / M30
//   out  % / O1000 / (rewritten by restep ...) ... / G21 ... G1 X10 / M5 / M9 / M30
//
// Whoever stands at the machine may have the program and nothing else: what must be done before cycle start
// belongs into it. Controls differ in what M2 and M30 switch off, so it is said in words.

#include "transform/program_frame.hpp"

#include "transform/block_stage.hpp"
#include "transform/head.hpp"
#include "transform/record.hpp"
#include "transform/spindle_state.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <string>

namespace restep::transform {

using motion::Step;

namespace {

constexpr std::string_view stage_name = "program-frame";

/// The first line is the mark by which a program that was rewritten before is known. No marks of comments
/// inside, and short enough for the smallest display.
constexpr std::array<std::string_view, 9> cautions{
    "rewritten by restep: check before running",
    "guards closed, eye protection on: hard chips fly and burn",
    "check tool numbers, lengths, corner radii and work zero",
    "dry run above the part first",
    "single block and low override at each tool's first plunge",
    "one hand on feed hold, emergency stop within reach",
    "restep cannot see clamps, vises or tool holders",
    "never rely on this program alone: follow the machine's manual,",
    "local rules and people trained on this machine",
};

/// Compared without case and without blanks at the ends: a control may store comments in capitals.
bool is_own_mark(std::string_view text) {
  while (!text.empty() && text.front() == ' ')
    text.remove_prefix(1);
  std::string_view const mark = cautions.front();
  return text.size() >= mark.size() && std::equal(mark.begin(), mark.end(), text.begin(), [](char a, char b) {
           return std::tolower(static_cast<unsigned char>(a)) == std::tolower(static_cast<unsigned char>(b));
         });
}

class ProgramFrame final : public BlockStage {
public:
  ProgramFrame(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context) {}

private:
  Context& context_;
  SpindleState state_;
  bool head_done_ = false;
  bool ended_ = false;
  bool begun_ = false;
  text::Place last_place_;

  void handle(std::span<Step> block) override {
    begun_ = true;
    last_place_ = block.front().place;
    if (!head_done_ && !belongs_to_the_head(block)) add_cautions(block.front());
    for (Step const& step : block) {
      if (auto const* stop = std::get_if<motion::Stop>(&step.event))
        if (stop->kind == motion::StopKind::end || stop->kind == motion::StopKind::end_rewind)
          end_safely(step);
      state_.take(step.event);
      keep(step, !only_prepares(step.event));
    }
  }

  void finish() override {
    if (!begun_ || ended_) return;
    context_.findings.add(text::Severity::note, "no-program-end",
                          "the program has no M2 or M30: nothing was put at its end",
                          "end it with M30, or see that spindle and coolant are switched off", last_place_);
  }

  void add_cautions(Step const& first) {
    head_done_ = true;
    auto const* comment = std::get_if<motion::Comment>(&first.event);
    if (!context_.add_cautions || (comment && is_own_mark(comment->text))) return;
    for (std::string_view line : cautions)
      insert(motion::Comment{line, false}, first);
    record(context_, first, stage_name,
           [] { return std::string("cautions put at the head of the program"); });
  }

  void end_safely(Step const& stop) {
    ended_ = true;
    bool const turns = state_.turns(), wet = state_.wet();
    if (turns) insert(motion::SpindleTurn{motion::Rotation::stop}, stop);
    if (wet) insert(motion::Coolant{motion::CoolantKind::off}, stop);
    if (turns || wet)
      record(context_, stop, stage_name, [&] {
        return std::string(turns && wet ? "spindle and coolant"
                           : turns      ? "spindle"
                                        : "coolant") +
               " off before the end of the program";
      });
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_program_frame(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ProgramFrame>(upstream, context);
}

} // namespace restep::transform
