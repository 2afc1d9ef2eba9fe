#pragma once

#include "finish/assemble.hpp"
#include "finish/fit_meridian.hpp"
#include "finish/stack.hpp"

#include <optional>
#include <string>
#include <vector>

namespace restep::finish {

/// Whether a planned level is this one of the stack's own.
bool is_own(Stack const& stack, PlannedLevel const& planned, Level const& level);

/// Puts planned levels, given from the top down, in the order in which the stack is cut.
///
/// Stacks that go one way stay one group. Where the program cuts in groups a level belongs to the group whose
/// heights hold it. One between two groups goes to the later of the two, save that the program's first level
/// stays the first that is cut and its last the last: there it goes to the other one, or becomes a group of
/// its own.
std::vector<std::vector<PlannedLevel>> in_cutting_order(Stack const& stack,
                                                        std::vector<PlannedLevel> planned);

/// The same for a stack in groups whose first and last cut may move: every group but the last one from above
/// begins on the new level next above the one that it began with, or on it. So no group begins deeper than
/// the program's own did; what stands above a first cut is more than it was by less than two new steps. Nor
/// does the last cut stand deeper than the program's own, so that the ways in and out change as `way_in` and
/// `way_out` can. Nothing where no level is left for the first or the last group.
std::optional<std::vector<std::vector<PlannedLevel>>> in_moved_groups(Stack const& stack,
                                                                      std::vector<PlannedLevel> planned);

/// The sections of a fit, parted at the levels that must stay within them: the first and the last that a
/// stack in groups cuts. `tips` are the levels from the top down.
std::vector<MeridianSection> sections_between_fixed(MeridianFit const& fit, Stack const& stack,
                                                    std::vector<geometry::Vec2> const& tips);

/// Why no order of new levels keeps that of the stack, in the user's words; empty where one does.
std::string why_no_order(Stack const& stack);

/// What there is to say of new levels because the stack is cut in groups: their order, and that those beside
/// a level that stays come out finer, with the reason why it stays. Smallest cusp and target in um; empty
/// where there are no groups.
std::string said_of_groups(Stack const& stack, std::string const& why_ends_stay, double cusp_min_um,
                           double target_um);

} // namespace restep::finish
