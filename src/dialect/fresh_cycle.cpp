// Canned cycles: as cycle blocks where the control has them, else as the moves they stand for.

#include "dialect/fresh_blocks.hpp"
#include "motion/arc.hpp"
#include "motion/cycle.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::dialect {
namespace {

using motion::Cycle;
using motion::ReturnLevel;

constexpr double same_level = 1e-7; // mm

bool dwells(int code) {
  return code == 820 || code == 860 || code == 880 || code == 890;
}

/// Moves alone are not this operation: tapping needs the spindle in step, a shifted retract needs it
/// oriented.
bool is_more_than_moves(int code) {
  return code == 740 || code == 840 || code == 760 || code == 870;
}

} // namespace

void FreshBlocks::write_cycle(Cycle const& c) {
  note_motion();
  if (dialect_.has_cycle(c.code) && (c.plane == motion::Plane::xy || dialect_.arcs_zx || dialect_.arcs_yz)) {
    prepare();
    if (write_cycle_block(c)) return;
    // The control would end at another height: leave the cycle mode, so that it is entered anew from here.
    leave_cycle();
    if (write_cycle_block(c)) return;
  }
  expand_cycle(c);
}

/// False when the control would come up to another height than meant, whichever return level is asked for.
bool FreshBlocks::write_cycle_block(Cycle const& c) {
  auto const axes = motion::axes_of(c.plane);
  double const level = control_.position[axes.normal];
  bool const entering = !is_cycle_mode(control_.modes.motion) || control_.modes.plane != c.plane;
  double const initial = entering || !dialect_.read.initial_level_sticky ? level : control_.initial_level;
  double const retract = rounded('R', c.retract);
  auto const comes_up_to = [&](ReturnLevel wanted) {
    return wanted == ReturnLevel::retract ? retract : std::max(retract, initial);
  };
  auto const fits = [&](ReturnLevel wanted) {
    double const height = comes_up_to(wanted);
    return (wanted == ReturnLevel::retract || motion::is_known(initial)) &&
           std::abs(height - rounded(axes.normal, c.clear)) <
               same_level + dialect_.resolution(control_.modes.units) / 2;
  };
  ReturnLevel const other =
      c.return_level == ReturnLevel::initial ? ReturnLevel::retract : ReturnLevel::initial;
  if (!fits(c.return_level) && !fits(other)) return false;
  ReturnLevel const wanted = fits(c.return_level) ? c.return_level : other;
  auto const feed = feed_of(c.feed_mode, c.feed, {});
  if (!feed) return true;

  if (entering) leave_cycle();
  add_plane(c.plane);
  add_distance(motion::Distance::absolute);
  add_feed_mode(*feed);
  block_.code('G', wanted == ReturnLevel::initial ? 980 : 990);
  control_.modes.return_level = wanted;
  block_.code('G', c.code);
  control_.modes.motion = c.code;
  for (int axis = 0; axis < 3; ++axis)
    add_axis(axis, c.hole[axis]);
  if (c.code == 870 || (c.code == 760 && (c.shift_i != 0 || c.shift_j != 0 || c.shift_k != 0))) {
    add_length('I', c.shift_i);
    add_length('J', c.shift_j);
    add_length('K', c.shift_k);
  }
  add_length('R', c.retract);
  if (c.peck != 0) add_length('Q', c.peck);
  if (c.dwell != 0 || dwells(c.code)) add_dwell(c.dwell);
  add_feed(*feed);
  end_block();
  control_.initial_level = initial;
  control_.position[axes.normal] = comes_up_to(wanted);
  return true;
}

void FreshBlocks::expand_cycle(Cycle const& c) {
  if (is_more_than_moves(c.code)) {
    refuse("cycle-not-writable",
           fmt::format("the control cannot do G{}, and plain moves are not the same operation", c.code / 10),
           "do this operation on another machine, or by hand");
    return;
  }
  ++count_.expanded_cycles;
  note_once("cycles-as-moves",
            "canned cycles that the control cannot do are written as the moves they stand for", "");
  motion::expand(c, control_.rotation, pieces_);
  // Writing an event may use pieces_ again only for another cycle, which an expansion does not hold.
  for (auto const& event : pieces_) {
    if (auto const* move = std::get_if<motion::Motion>(&event)) {
      write_motion(*move);
    } else {
      motion::Step step = *step_;
      step.event = event;
      step.last_in_block = false;
      motion::Step const* const whole = step_;
      write(step);
      step_ = whole;
    }
  }
}

void FreshBlocks::add_dwell(double seconds) {
  constexpr int decimals_of_seconds = 3;
  if (!(seconds >= 0 && seconds * 1000 <= largest_number)) {
    refuse("dwell", fmt::format("a dwell of {} s cannot be written", seconds), "");
    return;
  }
  if (dialect_.dwell_in_milliseconds) {
    block_.whole('P', digits_of(seconds * 1000, 0));
  } else {
    block_.number('P', digits_of(seconds, decimals_of_seconds), decimals_of_seconds);
  }
}

} // namespace restep::dialect
