// Frames the program: cautions and a state block first, everything off last.
//   in   % / O1000 / G21 G90 / T1 M6 ... G1 X10 / M30
//   out  % / O1000 / (rewritten by restep ...) ... / G21 G90 / G17 G40 G80 G94 / T1 M6 ... G1 X10 / M5 / M9 /
//   M30
//
// What the program says of the state before its first motion is not said again; the rest is said in the modes
// that it was read with. G49 is never put in: a program that gives G43 before its first Z does not need it,
// and one that does not may count on the length that the operator or the tool change has set. Z in its
// coordinates would be wrong by a tool's length without it.
//
// Whoever stands at the machine may have the program and nothing else: what must be done before cycle start
// belongs into it. Controls differ in what M2 and M30 switch off, so it is said in words.

#include "transform/program_frame.hpp"

#include "transform/block_stage.hpp"
#include "transform/head.hpp"
#include "transform/record.hpp"
#include "transform/spindle_state.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdint>
#include <string>
#include <string_view>
#include <utility>

namespace restep::transform {

using motion::Step;

namespace {

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

/// "the plane, G40"
std::string missing_words(unsigned missing) {
  namespace word = motion::state_word;
  static constexpr std::array<std::pair<std::uint8_t, std::string_view>, 6> names{{
      {word::plane, "the plane"},
      {word::units, "the units"},
      {word::compensation, "G40"},
      {word::cycle, "G80"},
      {word::distance, "G90 or G91"},
      {word::feed_mode, "how feeds are meant"},
  }};
  std::string all;
  for (auto const& [bit, name] : names)
    if (missing & bit) all.append(all.empty() ? "" : ", ").append(name);
  return all;
}

class ProgramFrame final : public BlockStage {
public:
  ProgramFrame(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context) {}

private:
  static constexpr std::string_view stage_name = "program-frame";

  Context& context_;
  SpindleState state_;
  bool head_done_ = false;
  bool state_done_ = false;
  bool ended_ = false;
  bool begun_ = false;
  text::Place last_place_;

  bool passes(motion::Stretch const& cuts) override {
    if (!head_done_ || !state_done_) return false;
    last_place_ = cuts.last_place();
    return true;
  }

  void handle(std::span<Step> block) override {
    begun_ = true;
    last_place_ = block.front().place;
    if (!head_done_ && !belongs_to_the_head(block)) add_cautions(block.front());
    if (!state_done_ && acts(block)) complete_state(block.front());
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

  /// What is put at the head is always executed, and stands outside of calls and loops.
  static Step head_before(Step const& first) {
    Step head = first;
    head.passage = 0;
    head.optional = false;
    head.delete_switch = 0;
    return head;
  }

  void add_cautions(Step const& first) {
    head_done_ = true;
    auto const* comment = std::get_if<motion::Comment>(&first.event);
    if (!context_.add_cautions || (comment && is_own_mark(comment->text))) return;
    Step const head = head_before(first);
    for (std::string_view line : cautions)
      insert(motion::Comment{line, false}, head);
    record(context_, first, stage_name,
           [] { return std::string("cautions put at the head of the program"); });
  }

  /// Something in it may hang on the modes, or asks the operator for the first tool. Calls and loops are
  /// written as they stand: what belongs in front of them must stand in front of the whole.
  static bool acts(std::span<Step const> block) {
    return block.front().passage != 0 || std::any_of(block.begin(), block.end(), [](Step const& step) {
             auto const* comment = std::get_if<motion::Comment>(&step.event);
             bool const asks = comment != nullptr && comment->message && step.generated;
             return asks || !only_prepares(step.event);
           });
  }

  void complete_state(Step const& first) {
    state_done_ = true;
    unsigned const missing = context_.abilities.state_words & ~unsigned{context_.survey.stated};
    if (!context_.add_cautions || missing == 0) return;
    Step const head = head_before(first);
    insert(motion::Layout{motion::LayoutKind::state, missing}, head);
    if (missing & motion::state_word::compensation) insert(motion::Compensation{}, head);
    record(context_, head, stage_name, [&] {
      return fmt::format("the program does not say {} before its first motion: put at its head",
                         missing_words(missing));
    });
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
