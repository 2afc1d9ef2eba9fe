#pragma once

#include "finish/stack.hpp"
#include "geometry/vec.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace restep::finish {

/// Steps of a stack and beside it that are given anew because the first or the last level that it cuts has
/// moved up.
struct Way {
  std::size_t first = 0, last = 0; ///< the program's steps that they take the place of
  std::vector<motion::Step> steps;
};

/// The way of the tool to the start of a pass's first contour when that has moved up and towards the material
/// to `start`.
///
/// The program comes down beside the part and from there in by feed. It still comes down in the very column
/// in which it did, only not as deep; from there it goes across by feed, and in as it did, moved with the
/// contour. So nothing but a feed goes where the program itself has not been. Steps before `free_from` belong
/// to other passes. The error says in the user's words why the way cannot be changed.
tl::expected<Way, std::string> way_in(std::span<motion::Step const> operation, Stack const& stack,
                                      std::size_t free_from, geometry::Vec3 const& start);

/// The same for the way out of a pass's last contour that now ends in `end`: out as the program went out,
/// moved with the contour, across by feed, and up in the program's column. Steps from `free_to` on belong to
/// other passes.
tl::expected<Way, std::string> way_out(std::span<motion::Step const> operation, Stack const& stack,
                                       std::size_t free_to, geometry::Vec3 const& end);

/// Steps [from, to) of an operation that belong to no other pass.
struct FreeSteps {
  std::size_t from = 0, to = 0;
};

/// The new steps of a pass with its way in, where its first cut has moved, and its way out, where its last
/// has.
tl::expected<Way, std::string> ways_to(std::span<motion::Step const> operation, Stack const& stack,
                                       FreeSteps free, std::vector<motion::Step> pass, bool first_moved,
                                       bool last_moved);

/// The height from which on the program takes the air above a pass for clear: where it begins to feed down to
/// its first contour, or where it came from by rapid when it goes all the way down by rapid. Infinity when it
/// does not come straight down.
double clear_height(std::span<motion::Step const> operation, Stack const& stack, std::size_t free_from);

} // namespace restep::finish
