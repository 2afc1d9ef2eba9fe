#include "transform/pass_time.hpp"

#include "motion/time_model.hpp"
#include "transform/clamp_feeds.hpp"
#include "transform/clamp_spindle.hpp"
#include "transform/edge_feeds.hpp"
#include "transform/feed_limit.hpp"

#include <algorithm>
#include <memory>
#include <string_view>
#include <vector>

namespace restep::transform {

namespace {

class Pass final : public motion::StepSource {
public:
  Pass(std::span<motion::Step const> steps, std::optional<motion::Step> const& speed, int tool)
      : steps_(steps) {
    if (tool >= 0) in_force_.emplace_back().event = motion::ToolChange{tool};
    if (speed) in_force_.push_back(*speed);
  }

  bool next(motion::Step& step) override {
    if (told_ < in_force_.size()) {
      step = in_force_[told_++];
      return true;
    }
    if (at_ == steps_.size()) return false;
    step = steps_[at_++];
    return true;
  }

private:
  std::span<motion::Step const> steps_;
  std::vector<motion::Step> in_force_;
  std::size_t told_ = 0, at_ = 0;
};

} // namespace

PassRun as_run(std::span<motion::Step const> pass, std::optional<motion::Step> const& speed, int tool,
               Context const& context) {
  // What the stages tell here they tell again when the program itself passes through them.
  text::Findings findings;
  motion::Edits edits(0);
  Context trial{.machine = context.machine,
                .tools = context.tools,
                .survey = context.survey,
                .resolution = context.resolution,
                .planned_speeds = context.planned_speeds,
                .findings = findings,
                .edits = edits};
  Pass source(pass, speed, tool);
  std::vector<std::unique_ptr<motion::StepSource>> chain;
  motion::StepSource* last = &source;
  for (auto const& [name, make] : {std::pair{std::string_view("edge-feeds"), &make_edge_feeds},
                                   std::pair{std::string_view("clamp-spindle"), &make_clamp_spindle},
                                   std::pair{std::string_view("clamp-feeds"), &make_clamp_feeds}}) {
    if (std::find(context.skipped.begin(), context.skipped.end(), name) != context.skipped.end()) continue;
    chain.push_back(make(*last, trial));
    last = chain.back().get();
  }
  motion::TimeModel time(context.machine);
  PassRun run;
  for (motion::Step step; last->next(step);) {
    if (auto const* s = std::get_if<motion::SpindleSpeed>(&step.event)) run.rpm = s->rpm;
    if (auto const* cut = motion::motion_of(step); cut != nullptr && is_cutting(*cut))
      if (double const feed = feed_per_minute(*cut, run.rpm); feed > run.feed_max) run.feed_max = feed;
    if (!std::holds_alternative<motion::ToolChange>(step.event)) time.add(step);
  }
  run.seconds = time.seconds();
  return run;
}

} // namespace restep::transform
