#include "finish/rising_spiral.hpp"

#include "finish/contour.hpp"
#include "finish/spiral_find.hpp"
#include "finish/turning.hpp"
#include "motion/backwards.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <utility>

namespace restep::finish {

namespace {

using motion::Step;

// Motions that rise or stay at their height, without a break.
struct Rise {
  std::size_t begin = 0, end = 0;
};

// Those that rise while they turn once round at least; no shorter one is worth reading backwards.
std::vector<Rise> rises_of(std::span<Step const> operation) {
  std::vector<Rise> rises;
  Rise rise;
  Turning turning;
  double first_risen = 0; // what had been turned where it first rose
  bool open = false, risen = false;
  auto const close = [&](std::size_t end) {
    if (open && risen && std::abs(turning.turned() - first_risen) >= 2 * std::numbers::pi)
      rises.push_back({rise.begin, end});
    open = risen = false;
    turning = {};
  };
  for (std::size_t i = 0; i < operation.size(); ++i) {
    motion::Motion const* m = motion::motion_of(operation[i]);
    if (m == nullptr) continue;
    bool const up = is_rising_cut(*m);
    if (!up && !is_level_cut(*m)) {
      close(i);
      continue;
    }
    if (!open) rise.begin = i;
    open = true;
    if (up && !risen) first_risen = turning.turned();
    risen = risen || up;
    turning.add(*m);
  }
  close(operation.size());
  return rises;
}

} // namespace

std::vector<RisingSpiral> find_rising_spirals(std::span<Step const> operation, double max_shift) {
  std::vector<RisingSpiral> found;
  for (Rise const& rise : rises_of(operation)) {
    std::vector<Step> const run = motion::backwards(operation.subspan(rise.begin, rise.end - rise.begin));
    std::vector<SpiralPass> passes = find_spirals(run, max_shift);
    std::reverse(passes.begin(), passes.end());
    for (SpiralPass& pass : passes) {
      if (pass.spiral && pass.spiral->open)
        pass.spiral = tl::unexpected(std::string("it rises, and does not begin with a turn at one height"));
      std::size_t const first = rise.end - 1 - pass.last_step;
      std::size_t const last = rise.end - 1 - pass.first_step;
      found.push_back({first, last, rise.begin, rise.end, std::move(pass)});
    }
  }
  return found;
}

SpiralOutcome restep_rising(std::span<Step const> run, RisingSpiral const& pass, cutter::Tool const* tool,
                            int tool_number, PassRequest const& request) {
  SpiralOutcome outcome = restep_spiral(run, pass.falling, tool, tool_number, request);
  std::swap(outcome.report.first_line, outcome.report.last_line);
  outcome.report.shape = "rising spiral";
  return outcome;
}

} // namespace restep::finish
