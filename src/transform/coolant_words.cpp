// Maps mist and flood.
//   in   M7       on a machine that has only flood
//   out  M8

#include "transform/coolant_words.hpp"

#include "transform/block_stage.hpp"
#include "transform/record.hpp"

#include <string>

namespace restep::transform {

using motion::CoolantKind;
using motion::Step;

namespace {

class CoolantWords final : public BlockStage {
public:
  CoolantWords(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context) {}

private:
  static constexpr std::string_view stage_name = "coolant-words";

  Context& context_;

  bool passes(motion::Stretch const& /*cuts*/) override { return true; }

  void handle(std::span<Step> block) override {
    for (Step& step : block) {
      auto* coolant = std::get_if<motion::Coolant>(&step.event);
      if (!coolant || fits(step, *coolant)) keep(step, !only_prepares(step.event));
    }
  }

  /// False when the machine has no coolant for this word.
  bool fits(Step& step, motion::Coolant& coolant) {
    bool const mist = context_.machine.mist, flood = context_.machine.flood;
    if (coolant.kind == CoolantKind::off) return true;
    bool const wants_mist = coolant.kind == CoolantKind::mist;
    if (wants_mist ? mist : flood) return true;
    std::string const word = wants_mist ? "M7 (mist)" : "M8 (flood)";
    if (!mist && !flood) {
      context_.findings.add(text::Severity::warning, "coolant-missing",
                            word + " left out: the machine has no coolant",
                            "cut dry, or see to cooling by hand", step.place);
      record(context_, step, stage_name, [&] { return word + " left out: the machine has no coolant"; });
      return false;
    }
    coolant.kind = wants_mist ? CoolantKind::flood : CoolantKind::mist;
    step.touched = true;
    std::string const other = wants_mist ? "M8 (flood)" : "M7 (mist)";
    context_.findings.add(text::Severity::warning, "coolant-mapped",
                          word + " becomes " + other + ": the machine has no other",
                          "see that this is enough, and that the part may get wet", step.place);
    record(context_, step, stage_name, [&] { return word + " -> " + other; });
    return true;
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_coolant_words(motion::StepSource& upstream, Context& context) {
  return std::make_unique<CoolantWords>(upstream, context);
}

} // namespace restep::transform
