#pragma once

#include "finish/contour.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace restep::finish {

/// All contours that a pass cuts at one height (several islands are several contours), in the order in which
/// the first level of their stack cuts them.
struct Level {
  double z = 0;
  std::vector<Contour> contours;
  bool from_the_last = false; ///< cut in the opposite order

  Contour const& first_cut() const { return from_the_last ? contours.back() : contours.front(); }
  Contour const& last_cut() const { return from_the_last ? contours.front() : contours.back(); }
  /// Cut the other way than the first level: each contour, the order of the contours, or both.
  bool turned() const { return from_the_last || contours.back().reversed; }
};

/// Consecutive levels of one tool over one region: the same number of contours, each with its counterpart one
/// level on, and a height that moves one way only.
struct Stack {
  std::vector<Level> levels; ///< in cutting order; from the top down where they are cut in groups
  /// Counterparts are made of the same kinds of elements in the same order. Where they are not (chords of
  /// another number on each level, corners that come and go) they run beside each other in plan.
  bool by_element = true;
  /// Levels that are cut in groups, upwards in each while the groups go down, or the other way round: the
  /// groups in the order they are cut, each the levels in the order they are cut. Empty where the levels go
  /// one way.
  std::vector<std::vector<std::size_t>> groups;

  bool grouped() const { return !groups.empty(); }
  Level const& first_cut() const { return grouped() ? levels[groups.front().front()] : levels.front(); }
  Level const& last_cut() const { return grouped() ? levels[groups.back().back()] : levels.back(); }
  /// The level that is cut after level k; none after the last.
  std::optional<std::size_t> cut_after(std::size_t k) const;

  std::size_t first_step() const { return first_cut().first_cut().first_step; }
  std::size_t last_step() const { return last_cut().last_cut().last_step; }
  bool downwards() const { return levels.back().z < levels.front().z; }
  /// The direction of the cut alternates from level to level, the order of the contours, or both.
  bool alternates() const {
    std::size_t const first = grouped() ? groups.front().front() : 0;
    return levels[first].turned() != levels[*cut_after(first)].turned();
  }
};

/// How far a contour may move sideways from one level to the next and still be the same contour, mm: beyond
/// the tool's diameter two levels would leave a ridge that no finishing pass leaves.
struct StackLimits {
  double max_shift = 3;
  std::size_t min_levels = 3;
  double tolerance = 0.0015; ///< mm: parts of one line or arc lie within this of it
};

/// From an open contour to the next level's the tool feeds no farther than so many times the length of the
/// shorter one: pieces of a longer course that happen to lie at one height each are no levels.
inline constexpr double longest_way_between = 3;

/// Groups contours into levels and levels into stacks. Contours that fit nowhere are in no stack.
///
/// Counterparts are found whether they are told alike, backwards (contours whose direction alternates), from
/// another start (loops), or in the opposite order (from the island where the level above ended). Elements at
/// the ends of open contours that have no counterpart, or that do not move with the contour from level to
/// level (lead-ins, step-overs at the level's own height), are left to the links.
std::vector<Stack> find_stacks(std::vector<Contour> contours, StackLimits const& limits);

/// The step of the last digit with which the stack's coordinates are written, mm: the coarsest of 0.01 ...
/// 0.000001 mm and 0.001 ... 0.00001 inch that every coordinate is a whole multiple of.
double resolution_of(std::span<motion::Step const> steps);

} // namespace restep::finish
