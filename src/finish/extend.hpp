#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/meridian.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"
#include "finish/fit_meridian.hpp"
#include "finish/offsets.hpp"
#include "finish/shape.hpp"
#include "finish/stack.hpp"

#include <tl/expected.hpp>

#include <string>
#include <vector>

namespace restep::finish {

/// The strip of a convex round that lies above the first level of a pass (its uppermost one).
struct Strip {
  double height = 0; ///< mm, from the first level up to the tangency; 0 where there is no such strip
  double known_within = 0;
  ///< mm: how far the tangency's height may be off for the scatter of the levels it is told from (three
  ///< standard deviations)
  cutter::Meridian meridian; ///< from the tangency, where the round is horizontal, down to the first level
};

/// The strip above the uppermost section of a fit. `tips` are the levels from the top down, `resolution` the
/// program's last digit, mm. A sharp edge has none: nothing touches it above the first level.
Strip strip_above(MeridianFit const& fit, std::vector<geometry::Vec2> const& tips, double corner_radius,
                  double resolution);

/// What a pass's levels above its first are to meet.
struct StripRequest {
  cutter::FinishTarget target;
  cutter::StepLimits limits;
  double program_resolution = 0.001; ///< last digit of the program, mm
  double resolution = 0.001;         ///< last digit that will be written, mm
};

/// Levels above the first one.
struct StripLevels {
  std::vector<ShapedLevel> levels;  ///< from the top down; the first stands at the tangency
  std::vector<geometry::Vec2> tips; ///< theirs and that of the program's first level
  cutter::Meridian meridian;        ///< from the top level down to the program's first
  bool target_missed = false;
};

/// Plans and shapes the levels of a strip: the least number that meets the target between the tangency and
/// the program's first level, which stays. Where the direction of the cut alternates the number is even, so
/// that the top level is cut the way the program's first is and its way in serves.
///
/// The contours are those of the program moved on by the law of their points (see Offsets), and held against
/// the exact offset of the program's first level: every element must keep its direction and stand off it by
/// the same distance. The top level stands on the digit next to the tangency. The error says in the user's
/// words why the strip cannot be cut: the tangency is too uncertain, an element would vanish, chords would
/// grow beyond the program's own.
tl::expected<StripLevels, std::string> plan_strip(Strip const& strip, Stack const& stack,
                                                  Offsets const& offsets, cutter::Tool const& tool,
                                                  StripRequest const& request);

/// The meridian with a strip in front of it.
cutter::Meridian extended(cutter::Meridian const& meridian, Strip const& strip);

} // namespace restep::finish
