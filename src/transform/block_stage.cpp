#include "transform/block_stage.hpp"

#include <variant>

namespace restep::transform {

using motion::Step;

bool BlockStage::next(Step& step) {
  while (taken_ == out_.size()) {
    if (ended_) return false;
    start_block();
    if (!upstream_.next(step)) {
      ended_ = true;
      finish();
    } else if (step.last_in_block) {
      // Most blocks are one step, and most of these stay as they are: where they came in.
      handle_block({&step, 1});
      if (insertions_.empty() && out_.size() == 1) {
        taken_ = 1;
        return true;
      }
      if (block_.empty()) block_.emplace_back();
      block_.front() = step;
      settle(1);
    } else {
      take_block(step);
    }
  }
  step = step_of(out_[taken_++]);
  return true;
}

bool BlockStage::next_stretch(motion::Stretch& stretch) {
  if (taken_ != out_.size() || ended_ || !upstream_.next_stretch(stretch)) return false;
  if (passes(stretch)) return true;
  upstream_.take_apart(stretch);
  return false;
}

void BlockStage::start_block() {
  out_.clear();
  insertions_.clear();
  taken_ = slot_ = 0;
}

void BlockStage::handle_block(std::span<Step> block) {
  begin_ = block.data();
  handle(block);
}

void BlockStage::take_block(Step const& first) {
  if (block_.empty()) block_.emplace_back();
  block_.front() = first;
  std::size_t steps = 1;
  for (bool whole = false; !whole; ++steps) {
    if (block_.size() == steps) block_.emplace_back();
    if (!upstream_.next(block_[steps])) break;
    whole = block_[steps].last_in_block;
  }
  handle_block({block_.data(), steps});
  settle(steps);
}

void BlockStage::keep(Step const& step, bool before_insertions) {
  out_.push_back({static_cast<std::size_t>(&step - begin_), false});
  if (before_insertions) slot_ = out_.size();
}

void BlockStage::insert(motion::Event event, Step const& cause) {
  Step step = cause;
  step.event = event;
  step.first_in_block = step.last_in_block = true;
  step.touched = step.other_feed = false;
  step.generated = true;
  out_.insert(out_.begin() + static_cast<std::ptrdiff_t>(slot_), {insertions_.size(), true});
  insertions_.push_back(step);
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
    Step& step = step_of(out_[i]);
    step.touched = true;
    step.first_in_block = i == 0 || out_[i - 1].inserted;
    step.last_in_block = i + 1 == out_.size() || out_[i + 1].inserted;
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
