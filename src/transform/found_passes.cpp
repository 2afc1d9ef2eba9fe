#include "transform/found_passes.hpp"

#include <algorithm>
#include <utility>

namespace restep::transform {

namespace {

using motion::Step;

finish::StackLimits stack_limits(cutter::Tool const* tool) {
  finish::StackLimits limits;
  if (tool != nullptr) limits.max_shift = std::max(tool->diameter, 1.0);
  return limits;
}

// Stacks and spirals. Parts of a spiral at one height may look like open contours of a stack; the ramps
// between a stack's loops are no spiral.
void find_levels(std::span<Step const> operation, cutter::Tool const* tool, std::vector<FoundPass>& found) {
  finish::StackLimits const limits = stack_limits(tool);
  std::vector<finish::Stack> stacks = finish::find_stacks(finish::find_contours(operation), limits);
  auto const take = [&](auto spirals) {
    for (auto& spiral : spirals) {
      auto const overlaps = [&](finish::Stack const& stack) {
        return stack.first_step() <= spiral.last_step && spiral.first_step <= stack.last_step();
      };
      bool const part_of_stack = std::any_of(stacks.begin(), stacks.end(), [&](finish::Stack const& stack) {
        return stack.levels.front().contours.front().closed && overlaps(stack);
      });
      if (part_of_stack) continue;
      std::erase_if(stacks, overlaps);
      found.push_back({spiral.first_step, spiral.last_step, std::move(spiral)});
    }
  };
  take(finish::find_spirals(operation, limits.max_shift));
  take(finish::find_rising_spirals(operation, limits.max_shift));
  for (finish::Stack& stack : stacks)
    found.push_back({stack.first_step(), stack.last_step(), std::move(stack)});
}

// Lines over a surface, where nothing else was found.
void find_parallel(std::span<Step const> operation, cutter::Tool const* tool, std::vector<FoundPass>& found) {
  finish::RasterLimits limits;
  if (tool != nullptr) limits.max_stepover = std::max(tool->diameter, 1.0);
  std::size_t const levels = found.size();
  for (finish::RasterPass& pass : finish::find_rasters(operation, limits)) {
    std::size_t const first = pass.first_step(), last = pass.last_step();
    bool const taken = std::any_of(found.begin(), found.begin() + static_cast<std::ptrdiff_t>(levels),
                                   [&](FoundPass const& f) { return f.first <= last && first <= f.last; });
    if (!taken && finish::is_parallel_pass(pass, tool)) found.push_back({first, last, std::move(pass)});
  }
}

} // namespace

std::vector<FoundPass> find_passes(std::span<Step const> operation, cutter::Tool const* tool, bool goes_down,
                                   bool lines) {
  std::vector<FoundPass> found;
  if (goes_down) find_levels(operation, tool, found);
  if (lines) find_parallel(operation, tool, found);
  std::sort(found.begin(), found.end(),
            [](FoundPass const& a, FoundPass const& b) { return a.first < b.first; });
  return found;
}

bool stack_goes_on(std::span<Step const> steps, cutter::Tool const* tool) {
  auto contours = finish::find_contours(steps);
  if (contours.empty()) return false;
  std::vector<std::size_t> ends;
  ends.reserve(contours.size());
  for (finish::Contour const& contour : contours)
    ends.push_back(contour.last_step);
  if (contours.back().last_step - contours.back().first_step > steps.size() / 2) return true;
  auto const stacks = finish::find_stacks(std::move(contours), stack_limits(tool));
  if (stacks.empty()) return false;
  // The level that is being read is not whole yet.
  std::size_t const unfinished = stacks.back().levels.front().contours.size();
  return ends.size() <= unfinished || stacks.back().last_step() >= ends[ends.size() - 1 - unfinished];
}

} // namespace restep::transform
