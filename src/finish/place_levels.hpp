#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/meridian.hpp"
#include "cutter/tool.hpp"
#include "finish/shape.hpp"

#include <vector>

namespace restep::finish {

/// Above the target by no more than this share, the written cusps still meet it: single cusps, by what a
/// digit of a plan coordinate is worth where levels are fifty digits apart.
inline constexpr double written_slack = 0.05;

/// What levels keep to when they are placed.
struct PlacingRule {
  cutter::Tool const& tool;
  cutter::FinishTarget const& target; ///< a cusp above it costs more than any unevenness
  double resolution = 0;              ///< mm per last digit that will be written
  double max_stepdown = 0;            ///< mm; 0: no limit
  Vec2 top{}, bottom{};               ///< tips of the levels between which they are placed
};

/// Moves planned levels onto the control's digits. Each level has a choice of places within a few hundredths
/// of its neighbours' distance: where the surface is steep the height is a whole number of digits and d
/// follows from the meridian; where it is nearly flat d rules and the height is rounded. The choice of all
/// levels together is the one for which the written contours depart least from the exact ones and the cusps
/// come out most nearly as planned, a hundredth of a cusp counting as much as a digit of form.
///
/// No level stands more than `max_stepdown` below the one before it where that can be helped.
///
/// `s` are arc lengths on the meridian, ends included; gives one shaped level for each of s[1] ... s[n - 2].
/// The ends are levels that stand already, off the meridian by their own digits: `rule.top` and
/// `rule.bottom`.
std::vector<ShapedLevel> place_levels(cutter::Meridian const& meridian, std::vector<double> const& s,
                                      Stack const& stack, Offsets const& offsets, PlacingRule const& rule);

} // namespace restep::finish
