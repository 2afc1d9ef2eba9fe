#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/meridian.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"
#include "finish/offsets.hpp"
#include "finish/shape.hpp"
#include "finish/stack.hpp"

#include <cstddef>
#include <vector>

namespace restep::finish {

/// A part of a pass whose surface is known, from one of the program's levels to another; both stay.
struct Section {
  cutter::Meridian const& meridian;
  std::vector<Vec2> own;                   ///< tips of the program's levels from the top down, mm
  std::size_t first_cut = 0, last_cut = 0; ///< the uppermost's and the lowest's index in cutting order
  Stack const& stack;
  Offsets const& offsets;
  cutter::Tool const& tool;
};

/// What its levels are to meet.
struct SectionRequest {
  cutter::FinishTarget target;
  cutter::StepLimits limits;
  double own_resolution = 0; ///< mm per last digit of the program
  double resolution = 0;     ///< mm per last digit that will be written
  bool levels_at_edges = false;
};

struct SectionLevels {
  std::vector<ShapedLevel> levels; ///< between the section's first and its last level
  bool replaced = false;           ///< they take the place of the program's own
  bool target_missed = false;
  double unreached = 0;  ///< figure, mm, that more levels do not lessen; 0 where there is none
  bool too_fine = false; ///< the digits put levels at one height
};

/// The least levels that meet the target where they are written; none in place of the program's own where
/// those meet it with as many or one more.
SectionLevels solve_section(Section const& section, SectionRequest const& request);

/// Tips of a section with other levels between its ends.
std::vector<Vec2> tips_between_ends(std::vector<Vec2> const& own, std::vector<ShapedLevel> const& inner);

/// Largest cusp, mm, when of two levels one stands nearer to the material by what digits of `digit` mm are
/// worth along a normal. Where a large tool goes round a sharp edge that is many times as much.
double digits_cusp(cutter::Meridian const& meridian, cutter::Tool const& tool, std::vector<Vec2> const& tips,
                   double digit);

} // namespace restep::finish
