#pragma once

#include "finish/pass.hpp"
#include "motion/step.hpp"
#include "transform/transform.hpp"

#include <cstddef>
#include <span>
#include <string>

namespace restep::transform {

/// What is asked of the pass whose steps are given: the common target, or that of the last rule that means it
/// by number (from 1), tool or lines; nothing for passes that were not asked for and for feeds under G93.
finish::PassRequest request_for(PassTarget const& target, std::span<motion::Step const> pass,
                                std::size_t index, int tool);

/// Who asks for what the pass gets, as PassReport::target_from tells it.
std::string asked_by(finish::PassRequest const& request);

/// Whether a pass is among those that --pass names; all are when it names none.
bool among_those_asked_for(PassTarget const& target, std::size_t index);

/// Under G93 a feed belongs to the length of its own block; new levels have other lengths.
bool has_inverse_time_feeds(std::span<motion::Step const> pass);

/// Whether anything is asked of any pass, be it to be kept.
bool asks_of_passes(PassTarget const& target);

/// Whether any pass is asked for a finish.
bool asks_for_finish(PassTarget const& target);

/// Whether a pass may come to begin or end above where it did, so that its ways in and out must be at hand:
/// with levels put above its first, or, for a finish, with the first and the last cut of its groups moved.
bool may_move_ends(PassTarget const& target);

} // namespace restep::transform
