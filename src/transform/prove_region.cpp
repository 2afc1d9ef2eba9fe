#include "transform/prove_region.hpp"

#include "proof/region_model.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

namespace restep::transform {

using motion::Step;

std::span<Step const> own_path(std::span<Step const> operation, std::size_t last) {
  std::size_t end = last + 1;
  for (; end < operation.size(); ++end) {
    motion::Motion const* m = motion::motion_of(operation[end]);
    if (m != nullptr && (!motion::is_cutting(*m) || m->to.z > m->from.z)) break;
  }
  return operation.first(end);
}

OwnPass own_pass(finish::Stack const& stack) {
  OwnPass own;
  own.top = std::max(stack.levels.front().z, stack.levels.back().z);
  for (std::size_t k = 1; k < stack.levels.size(); ++k)
    for (std::size_t c = 0; c < stack.levels[k].contours.size(); ++c) {
      auto const& above = stack.levels[k - 1].contours[c].segments;
      auto const& below = stack.levels[k].contours[c].segments;
      // Open contours may go to and fro.
      double const apart = std::min(distance(above.front().from, below.front().from),
                                    distance(above.back().to, below.front().from));
      own.apart = std::max(own.apart, apart);
    }
  return own;
}

std::string prove_region(std::span<Step const> own, std::span<Step const> after, cutter::Tool const& tool,
                         OwnPass const& pass) {
  auto const region = proof::measure_region(own, after, tool, pass.near + pass.apart, pass.top);
  if (region.beyond.value <= pass.stepdown + pass.near) return {};
  return fmt::format("a new level or link cuts {:.3f} mm deeper at {} than the program ever was there",
                     region.beyond.value, proof::place_of(region.beyond));
}

} // namespace restep::transform
