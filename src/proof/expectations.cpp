#include "proof/expectations.hpp"

#include <variant>

namespace restep::proof {

namespace {

/// The first cut from `i` on that moves; the size where there is none.
std::size_t next_moving(motion::Stretch const& cuts, std::size_t i) {
  while (i < cuts.size && !cuts.moves(i))
    ++i;
  return i;
}

} // namespace

void Expectations::push(motion::Event const& event, std::uint32_t line, BlockDelete mark) {
  queue_.push_back({{event, line, mark}, false});
  if (auto* block = std::get_if<motion::Carried>(&queue_.back().expected.event)) {
    carried_.emplace_back(block->text);
    block->text = carried_.back();
  }
}

void Expectations::push(motion::Stretch const& cuts) {
  std::size_t const first = next_moving(cuts, 0);
  if (first == cuts.size) return;
  stretches_.push(cuts.behind(first));
  queue_.push_back({{}, true});
}

void Expectations::pop() {
  make_events(1);
  if (std::holds_alternative<motion::Carried>(queue_.front().expected.event)) carried_.pop_front();
  queue_.pop_front();
}

void Expectations::pop_cuts(std::size_t count) {
  met_ += count;
  pass_still_cuts(queue_.begin());
}

/// Where a stretch has no cut left that moves it is gone.
void Expectations::pass_still_cuts(std::deque<Item>::iterator const& stretch) {
  met_ = next_moving(stretches_.front(), met_);
  if (met_ < stretches_.front().size) return;
  queue_.erase(stretch);
  stretches_.pop();
  met_ = 0;
}

/// Makes events of the first `count`, as far as there are so many.
bool Expectations::make_events(std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) {
    if (i == queue_.size()) return false;
    if (!queue_[i].is_stretch) continue;
    motion::Stretch const& cuts = stretches_.front();
    Expected const cut{cuts.cut(met_), cuts.places()[met_].line, {}};
    ++met_;
    auto const place = queue_.begin() + static_cast<std::ptrdiff_t>(i);
    pass_still_cuts(queue_.insert(place, Item{cut, false}) + 1);
  }
  return true;
}

} // namespace restep::proof
