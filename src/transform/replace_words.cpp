// Says words by the control's own names.
//   in   M8                    replace = { M8 = "M7", M52 = "" }
//   out  M7
//   in   M52                   a code that the source's control has
//   out  (nothing)

#include "transform/replace_words.hpp"

#include "transform/block_stage.hpp"
#include "transform/control_text.hpp"
#include "transform/record.hpp"

#include <string>

namespace restep::transform {

using motion::Step;

namespace {

class ReplaceWords final : public BlockStage {
public:
  ReplaceWords(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context) {}

private:
  static constexpr std::string_view stage_name = "replace-words";

  Context& context_;

  bool passes(motion::Stretch const& /*cuts*/) override { return true; }

  void handle(std::span<Step> block) override {
    for (Step const& step : block)
      if (context_.habits.replace.empty() || !replaced(step)) keep(step, !only_prepares(step.event));
  }

  bool replaced(Step const& step) {
    std::string const code = motion::replaceable_code(step.event);
    auto const found = context_.habits.replace.find(code);
    if (code.empty() || found == context_.habits.replace.end()) return false;
    for (motion::ControlWord const& word : found->second)
      insert(event_of(word, {}, context_), step);
    record(context_, step, stage_name, [&] {
      return found->second.empty() ? code + " left out: the control does not take it"
                                   : code + " said in the control's own words";
    });
    return true;
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_replace_words(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ReplaceWords>(upstream, context);
}

} // namespace restep::transform
