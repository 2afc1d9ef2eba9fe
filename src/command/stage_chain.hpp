#pragma once

#include "command/first_reading.hpp"
#include "command/setup.hpp"
#include "motion/edit.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "report/program_report.hpp"
#include "text/finding.hpp"
#include "transform/cutting_check.hpp"
#include "transform/transform.hpp"

#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace restep::command {

inline constexpr std::string_view restep_stage = "restep";
inline constexpr std::string_view edge_feeds_stage = "edge-feeds";
inline constexpr std::string_view tool_change_stage = "tool-change";

/// Hands every step on and lets somebody look at it. `Look` takes a step, and a stretch of plain cuts.
template <class Look>
class Tap final : public motion::StepSource {
public:
  Tap(motion::StepSource& upstream, Look look)
      : upstream_(upstream)
      , look_(std::move(look)) {}
  bool next(motion::Step& step) override {
    if (!upstream_.next(step)) return false;
    look_(step);
    return true;
  }
  bool next_stretch(motion::Stretch& stretch) override {
    if (!upstream_.next_stretch(stretch)) return false;
    look_(stretch);
    return true;
  }

private:
  motion::StepSource& upstream_;
  Look look_;
};

/// The stage is not to run.
bool left_out(Setup const& setup, std::string_view stage);

/// Passes are looked for: something is asked of them, a stage goes by what is known of them, or a report is
/// to tell of them. It is most of the work where nothing else is asked.
bool looks_for_passes(Setup const& setup);

/// What the target's digits can say in a program of these units.
transform::Resolution resolution_of(Setup const& setup, motion::Units units);

/// What the stages of one run share.
transform::Context make_context(std::string const& program, Setup const& setup, FirstReading const& first,
                                text::Findings& findings, motion::Edits& edits);

/// What the stages of one run are stacked on: the stages themselves and who watches between them.
using Chain = std::vector<std::unique_ptr<motion::StepSource>>;

/// Stacks the stages that `wanted` names on `source`. `check`, if there is one, watches in front of the tool
/// changes, where T still says which tool it is.
template <class Wanted>
motion::StepSource& stack_stages(Chain& chain, motion::StepSource& source, transform::Context& context,
                                 transform::CuttingCheck* check, Wanted const& wanted) {
  motion::StepSource* last = &source;
  for (transform::Stage const& stage : transform::stages()) {
    if (stage.name == tool_change_stage && check != nullptr) {
      auto const look = [check](auto const& passing) { check->add(passing); };
      chain.push_back(std::make_unique<Tap<decltype(look)>>(*last, look));
      last = chain.back().get();
    }
    if (!wanted(stage.name)) continue;
    chain.push_back(stage.make(*last, context));
    last = chain.back().get();
  }
  return *last;
}

/// What the stages found out, once all has gone through them.
void keep_results(transform::Context& context, report::ProgramReport& report);

/// The names of what takes part in a run.
void name_setup(std::string const& program, Setup const& setup, report::ProgramReport& report);

} // namespace restep::command
