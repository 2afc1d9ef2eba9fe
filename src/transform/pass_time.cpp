#include "transform/pass_time.hpp"

#include "motion/time_model.hpp"
#include "transform/clamp_feeds.hpp"
#include "transform/clamp_spindle.hpp"

#include <algorithm>
#include <memory>
#include <string_view>
#include <vector>

namespace restep::transform {

namespace {

class Pass final : public motion::StepSource {
public:
  Pass(std::span<motion::Step const> steps, std::optional<motion::Step> const& speed)
      : steps_(steps)
      , speed_(speed) {}

  bool next(motion::Step& step) override {
    if (speed_) {
      step = *speed_;
      speed_.reset();
      return true;
    }
    if (at_ == steps_.size()) return false;
    step = steps_[at_++];
    return true;
  }

private:
  std::span<motion::Step const> steps_;
  std::optional<motion::Step> speed_;
  std::size_t at_ = 0;
};

} // namespace

double seconds_as_run(std::span<motion::Step const> pass, std::optional<motion::Step> const& speed,
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
  Pass source(pass, speed);
  std::vector<std::unique_ptr<motion::StepSource>> chain;
  motion::StepSource* last = &source;
  for (auto const& [name, make] : {std::pair{std::string_view("clamp-spindle"), &make_clamp_spindle},
                                   std::pair{std::string_view("clamp-feeds"), &make_clamp_feeds}}) {
    if (std::find(context.skipped.begin(), context.skipped.end(), name) != context.skipped.end()) continue;
    chain.push_back(make(*last, trial));
    last = chain.back().get();
  }
  motion::TimeModel time(context.machine);
  for (motion::Step step; last->next(step);)
    if (!std::holds_alternative<motion::SpindleSpeed>(step.event)) time.add(step);
  return time.seconds();
}

} // namespace restep::transform
