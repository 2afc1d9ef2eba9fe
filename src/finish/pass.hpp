#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"
#include "finish/fit_meridian.hpp"
#include "finish/offsets.hpp"
#include "finish/pass_report.hpp"
#include "finish/rails.hpp"
#include "finish/stack.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace restep::finish {

/// What is asked of one pass.
struct PassRequest {
  std::optional<cutter::FinishTarget> finish; ///< none: the pass is only described
  cutter::StepLimits limits;                  ///< max_stepdown 0: never larger than the pass's own largest
  bool extend = false;   ///< put levels above the first one, up to the tangency of a round that begins there
  bool keep = false;     ///< the user asked for this very pass to be left as it is
  std::string said_by{}; ///< who asks for this very pass: "part.toml:26"; empty: what all passes get
  bool named = false;    ///< the user named this very pass: a wall without cusps is re-stepped too
  double resolution = 0.001;    ///< last digit that will be written, mm
  bool levels_at_edges = false; ///< a level at either end of the tool's way about a sharp edge
  /// Steps of the operation that belong to no other pass: only in these may the way into the pass and out of
  /// it change.
  std::size_t free_from = 0, free_to = std::numeric_limits<std::size_t>::max();
};

/// The stepdown limits of a pass: those asked for; without a largest one, the pass's own largest.
cutter::StepLimits limits_of(PassRequest const& request, PassReport const& report);

/// Whether no more than the pass's own largest stepdown is allowed, for a finish that might bear a larger
/// one.
bool bound_by_own_stepdown(PassRequest const& request);

/// That levels (or turns, as `levels` says) could go if a larger stepdown than the pass's own were allowed:
/// how many it has and how many the target alone needs. To be put behind why a pass is kept; empty where none
/// go.
std::string held_back_in_words(PassReport const& report, std::size_t own, std::size_t without_limit,
                               std::string_view levels);

/// Puts into a report what a constant stepdown would need over these meridians for the finish that was asked
/// for; nothing where none was.
void find_constant(PassReport& report, std::span<cutter::Meridian const* const> meridians,
                   cutter::Tool const& tool, PassRequest const& request);

/// How many levels a constant stepdown would need, to be put behind how many the pass has now; empty where
/// none is known.
std::string constant_in_words(PassReport const& report);

/// The finish a pass is planned to: the one asked for; with a stepdown limit alone, no worse than the pass's
/// own.
cutter::FinishTarget target_of(PassRequest const& request, PassReport const& report);

/// What was learnt about the intended surface: what a proof measures against.
struct PassKnowledge {
  Offsets offsets;
  MeridianFit fit;
};

struct PassOutcome {
  PassReport report; ///< times are left at 0: they are the caller's, who knows the machine
  /// What takes the place of the operation's steps from `first_step` to `last_step` when the pass was
  /// re-stepped: those of the stack, and of the way into it (or out of it) where it begins (ends) on a level
  /// above the program's first.
  std::vector<motion::Step> steps;
  std::size_t first_step = 0, last_step = 0;
  std::optional<PassKnowledge> knowledge; ///< where the pass was re-stepped
  bool too_fine = false;                  ///< kept because new levels would fall together on the digits
  double digits_cusp = 0; ///< cusp that its levels may leave when digits move them against each other, mm
  std::optional<RailSurface> rails; ///< instead of it where its contours are no offsets of each other
};

/// Understands one stack and, where asked and possible, gives it new levels.
///
/// measure offsets -> fit meridian -> plan levels -> put them on the digits -> shape contours -> link them.
/// The program's first and last level stay as they are, to the last digit; so do the levels on both sides of
/// a place where the surface is not known. What cannot be done leaves the pass as it was, with the reason in
/// the report.
PassOutcome restep_pass(std::span<motion::Step const> operation, Stack const& stack, cutter::Tool const* tool,
                        int tool_number, PassRequest const& request);

} // namespace restep::finish
