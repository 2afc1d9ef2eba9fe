#include "transform/block_stage.hpp"

#include <utility>
#include <variant>

namespace restep::transform {

using motion::Step;

bool BlockStage::next(Step& step) {
  while (taken_ == out_.size())
    if (!fill()) return false;
  step = out_[taken_++].step;
  return true;
}

bool BlockStage::fill() {
  out_.clear();
  taken_ = slot_ = 0;
  if (ended_) return false;
  block_.clear();
  Step step;
  while (upstream_.next(step)) {
    block_.push_back(step);
    if (step.last_in_block) break;
  }
  if (block_.empty()) {
    ended_ = true;
    finish();
    return true;
  }
  std::size_t const steps = block_.size();
  handle(block_);
  settle(steps);
  return true;
}

void BlockStage::keep(Step const& step, bool before_insertions) {
  out_.push_back({step, false});
  if (before_insertions) slot_ = out_.size();
}

void BlockStage::insert(motion::Event event, Step const& cause) {
  Step step = cause;
  step.event = std::move(event);
  step.first_in_block = step.last_in_block = true;
  step.touched = false;
  step.generated = true;
  out_.insert(out_.begin() + static_cast<std::ptrdiff_t>(slot_), {step, true});
  ++slot_;
}

void BlockStage::settle(std::size_t steps_before) {
  std::size_t kept = 0, pieces = 0;
  for (std::size_t i = 0; i < out_.size(); ++i) {
    if (out_[i].inserted) continue;
    ++kept;
    if (i == 0 || out_[i - 1].inserted) ++pieces;
  }
  if (kept == steps_before && pieces <= 1) return;
  for (std::size_t i = 0; i < out_.size(); ++i) {
    if (out_[i].inserted) continue;
    out_[i].step.touched = true;
    out_[i].step.first_in_block = i == 0 || out_[i - 1].inserted;
    out_[i].step.last_in_block = i + 1 == out_.size() || out_[i + 1].inserted;
  }
}

bool only_prepares(motion::Event const& event) {
  using namespace motion;
  return std::holds_alternative<SpindleSpeed>(event) || std::holds_alternative<SpindleTurn>(event) ||
         std::holds_alternative<Coolant>(event) || std::holds_alternative<ToolSelect>(event) ||
         std::holds_alternative<Override>(event) || std::holds_alternative<Comment>(event) ||
         std::holds_alternative<Layout>(event);
}

} // namespace restep::transform
