// The modal state of the control: which mode words a block needs.

#include "dialect/fresh_blocks.hpp"

namespace restep::dialect {

using motion::Distance;
using motion::FeedMode;
using motion::Modes;
using motion::Plane;
using motion::ReturnLevel;
using motion::Units;

namespace word = motion::state_word;

namespace {

/// In tenths.
int code_of(FeedMode mode) {
  switch (mode) {
  case FeedMode::per_minute: return 940;
  case FeedMode::inverse_time: return 930;
  case FeedMode::per_revolution: break;
  }
  return 950;
}

} // namespace

/// The program's own units as long as the control has them. A generated step follows the blocks around it.
Units FreshBlocks::wanted_units() const {
  bool const follow = step_->generated && control_.knowledge == Knowledge::known;
  return units_for(follow ? control_.modes.units : step_->modes.units);
}

/// What the control has of them.
Units FreshBlocks::units_for(Units own) const {
  if (own == Units::inch && !dialect_.inch) return Units::mm;
  if (own == Units::mm && !dialect_.millimetre) return Units::inch;
  return own;
}

/// Makes sure that the units are right and no mode is unknown.
void FreshBlocks::prepare() {
  modes_were_given_ = false;
  if (control_.knowledge != Knowledge::known) {
    state_modes();
    return;
  }
  Units const units = wanted_units();
  if (control_.modes.units == units) return;
  leave_cycle();
  // Units stand in a block of their own: F is taken before them and is not converted
  // (NISTIR 6556, table 8 and 4.3.3.3).
  bool const iso = dialect_.iso_unit_codes;
  block_.code('G', units == Units::inch ? (iso ? 700 : 200) : (iso ? 710 : 210));
  end_state_block();
  control_.modes.units = units;
  control_.modes.feed = motion::unknown;
}

/// States every mode that the blocks to come rely on. Length offsets are left alone: a program that does not
/// mention them may count on the one that the operator has set.
void FreshBlocks::state_modes(bool cancel_compensation) {
  bool const at_start = control_.knowledge == Knowledge::nothing;
  Modes modes;
  modes.units = wanted_units();
  modes.motion = at_start ? 800 : -10;
  modes.feed = at_start ? 0 : motion::unknown;
  modes.return_level = control_.modes.return_level;
  modes.arc_distance = at_start ? Distance::incremental : control_.modes.arc_distance;

  bool const iso = dialect_.iso_unit_codes;
  unsigned const known = dialect_.state_words();
  if (known & word::plane) block_.code('G', 170);
  block_.code('G', modes.units == Units::inch ? (iso ? 700 : 200) : (iso ? 710 : 210));
  if (cancel_compensation) block_.code('G', 400);
  if (at_start && dialect_.cycles) block_.code('G', 800);
  block_.code('G', 900);
  if (known & word::feed_mode) block_.code('G', 940);
  control_.modes = modes;
  control_.knowledge = Knowledge::known;
  control_.initial_level = motion::unknown;
  end_state_block();
}

/// In another dialect the modes are stated in any case, here they take the G40 in. In its own dialect the
/// program's text goes on behind this block, and what it does not say is said in its own modes.
void FreshBlocks::write_head_state(std::int64_t words) {
  bool const cancels = words & word::compensation;
  cancelled_ = cancels;
  if (!same_dialect_ && control_.knowledge != Knowledge::known) return state_modes(cancels);
  if (!same_dialect_) words &= word::compensation;
  bool const iso = dialect_.iso_unit_codes;
  Modes const& modes = step_->modes;
  if (words & word::plane) block_.code('G', 170 + 10 * static_cast<int>(modes.plane));
  if (words & word::units)
    block_.code('G', modes.units == Units::inch ? (iso ? 700 : 200) : (iso ? 710 : 210));
  if (cancels) block_.code('G', 400);
  if (words & word::cycle) block_.code('G', 800);
  if (words & word::distance) block_.code('G', modes.distance == Distance::absolute ? 900 : 910);
  if (words & word::feed_mode) block_.code('G', code_of(modes.feed_mode));
  end_state_block();
  if (control_.knowledge != Knowledge::nothing) return;
  control_.modes = modes;
  control_.knowledge = Knowledge::known;
}

bool FreshBlocks::states_head(motion::Step const& step) const {
  if (!step.generated) return false;
  if (auto const* layout = std::get_if<motion::Layout>(&step.event))
    return layout->kind == motion::LayoutKind::state;
  return cancelled_ && std::holds_alternative<motion::Compensation>(step.event);
}

void FreshBlocks::leave_cycle() {
  if (!is_cycle_mode(control_.modes.motion)) return;
  block_.code('G', 800);
  end_state_block();
  control_.modes.motion = 800;
  control_.initial_level = motion::unknown;
}

void FreshBlocks::add_distance(Distance distance) {
  if (control_.modes.distance == distance) return;
  block_.code('G', distance == Distance::absolute ? 900 : 910);
  control_.modes.distance = distance;
}

void FreshBlocks::add_plane(Plane plane) {
  if (control_.modes.plane == plane) return;
  block_.code('G', 170 + 10 * static_cast<int>(plane));
  control_.modes.plane = plane;
}

void FreshBlocks::restate(Modes const& modes) {
  flush();
  add_plane(modes.plane);
  add_distance(modes.distance);
  if (control_.modes.arc_distance != modes.arc_distance) {
    block_.code('G', modes.arc_distance == Distance::absolute ? 901 : 911);
    control_.modes.arc_distance = modes.arc_distance;
  }
  if (control_.modes.return_level != modes.return_level) {
    block_.code('G', modes.return_level == ReturnLevel::initial ? 980 : 990);
    control_.modes.return_level = modes.return_level;
  }
  optional_ = false;
  end_block();
}

} // namespace restep::dialect
