#include "transform/found_passes.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace restep::transform {

namespace {

using motion::Step;

finish::StackLimits stack_limits(cutter::Tool const* tool) {
  finish::StackLimits limits;
  if (tool != nullptr) limits.max_shift = std::max(tool->diameter, 1.0);
  return limits;
}

void in_program_order(std::vector<FoundPass>& found) {
  std::sort(found.begin(), found.end(),
            [](FoundPass const& a, FoundPass const& b) { return a.first < b.first; });
}

// Where a loop of an operation lies.
struct Loop {
  double z = 0;
  std::size_t first = 0, last = 0; // steps
};

std::vector<Loop> loops_of(std::vector<finish::Contour> const& contours) {
  std::vector<Loop> loops;
  for (finish::Contour const& contour : contours)
    if (contour.closed) loops.push_back({contour.z, contour.first_step, contour.last_step});
  return loops;
}

// Runs of them that go down in small steps and are in no pass. Both lists are in program order.
std::vector<UnreadLoops> unread_among(std::vector<Loop> const& loops, std::vector<FoundPass> const& found) {
  std::vector<UnreadLoops> runs;
  UnreadLoops run;
  auto const end_run = [&] {
    if (run.heights > 0) runs.push_back(run);
    run = {};
  };
  auto pass_here = found.begin();
  for (Loop const& loop : loops) {
    while (pass_here != found.end() && pass_here->last < loop.first)
      ++pass_here;
    if (pass_here != found.end() && pass_here->first <= loop.last) {
      end_run();
      continue;
    }
    bool const stays = std::abs(run.bottom - loop.z) <= finish::same_height;
    if (run.heights > 0 && !stays && !UnreadLoops::goes_on(run.bottom, loop.z)) end_run();
    if (run.heights == 0) {
      run.first = loop.first;
      run.top = loop.z;
    }
    if (run.heights == 0 || !stays) ++run.heights;
    run.last = loop.last;
    run.bottom = loop.z;
  }
  end_run();
  return runs;
}

// Stacks and spirals. Parts of a spiral at one height may look like open contours of a stack; the ramps
// between a stack's loops are no spiral.
void find_levels(std::span<Step const> operation, cutter::Tool const* tool, FoundPasses& all) {
  std::vector<FoundPass>& found = all.passes;
  finish::StackLimits const limits = stack_limits(tool);
  std::vector<finish::Contour> contours = finish::find_contours(operation);
  std::vector<Loop> const loops = loops_of(contours);
  std::vector<finish::Stack> stacks = finish::find_stacks(std::move(contours), limits);
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
  in_program_order(found);
  all.unread = unread_among(loops, found);
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

bool UnreadLoops::goes_on(double from, double to) {
  constexpr double largest_step = 0.6; // mm: reference, finishing stacks met
  double const down = from - to;
  return down > finish::same_height && down <= largest_step;
}

FoundPasses find_passes(std::span<Step const> operation, cutter::Tool const* tool, bool goes_down,
                        bool lines) {
  FoundPasses found;
  if (goes_down) find_levels(operation, tool, found);
  if (lines) find_parallel(operation, tool, found.passes);
  in_program_order(found.passes);
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
