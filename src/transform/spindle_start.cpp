// Lets the spindle reach its speed.
//   in   S6000 M3 / G0 X5 / G1 Z-1
//   out  S6000 M3 / G0 X5 / G4 P2 / G1 Z-1

#include "transform/spindle_start.hpp"

#include "transform/block_stage.hpp"
#include "transform/record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::transform {

using motion::Rotation;
using motion::Step;

namespace {

class SpindleStart final : public BlockStage {
public:
  SpindleStart(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context) {}

private:
  static constexpr std::string_view stage_name = "spindle-start";

  Context& context_;
  Rotation rotation_ = Rotation::stop;
  double owed_ = 0; ///< seconds until the spindle is at speed

  bool passes(motion::Stretch const& /*cuts*/) override { return owed_ <= 0; }

  void handle(std::span<Step> block) override {
    for (Step const& step : block) {
      take(step);
      keep(step, !only_prepares(step.event));
    }
  }

  void take(Step const& step) {
    if (auto const* turn = std::get_if<motion::SpindleTurn>(&step.event)) {
      bool const starts = turn->rotation != Rotation::stop && turn->rotation != rotation_;
      rotation_ = turn->rotation;
      owed_ = starts && context_.machine.spindle_dwell ? context_.machine.spindle_start_seconds
              : rotation_ == Rotation::stop            ? 0
                                                       : owed_;
    } else if (std::holds_alternative<motion::ToolChange>(step.event)) {
      rotation_ = Rotation::stop;
      owed_ = 0;
    } else if (auto const* dwell = std::get_if<motion::Dwell>(&step.event)) {
      owed_ = std::max(0.0, owed_ - dwell->seconds);
    } else if (cuts(step.event) && owed_ > 0) {
      double const seconds = std::ceil(owed_ * 10 - 1e-6) / 10;
      owed_ = 0;
      insert(motion::Dwell{seconds}, step);
      record(context_, step, stage_name,
             [&] { return fmt::format("wait {} s before the cut: the spindle has just started", seconds); });
    }
  }

  static bool cuts(motion::Event const& event) {
    if (auto const* motion = std::get_if<motion::Motion>(&event)) return is_cutting(*motion);
    return std::holds_alternative<motion::Cycle>(event);
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_spindle_start(motion::StepSource& upstream, Context& context) {
  return std::make_unique<SpindleStart>(upstream, context);
}

} // namespace restep::transform
