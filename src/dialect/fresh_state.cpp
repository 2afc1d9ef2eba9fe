// The modal state of the control: which mode words a block needs.

#include "dialect/fresh_blocks.hpp"

namespace restep::dialect {

using motion::Distance;
using motion::FeedMode;
using motion::Modes;
using motion::Plane;
using motion::ReturnLevel;
using motion::Units;

bool FreshBlocks::has_several_planes() const {
  return dialect_.arcs_zx || dialect_.arcs_yz;
}

/// The program's own units as long as the control has them. A generated step follows the blocks around it.
Units FreshBlocks::wanted_units() const {
  bool const follow = step_->generated && control_.knowledge == Knowledge::known;
  Units const own = follow ? control_.modes.units : step_->modes.units;
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

/// States every mode that the blocks to come rely on. Compensation and length offsets are left alone: a
/// program that does not mention them may count on what the operator has set.
void FreshBlocks::state_modes() {
  bool const at_start = control_.knowledge == Knowledge::nothing;
  Modes modes;
  modes.units = wanted_units();
  modes.motion = at_start ? 800 : -10;
  modes.feed = at_start ? 0 : motion::unknown;
  modes.return_level = control_.modes.return_level;
  modes.arc_distance = at_start ? Distance::incremental : control_.modes.arc_distance;

  bool const iso = dialect_.iso_unit_codes;
  if (has_several_planes()) block_.code('G', 170);
  block_.code('G', modes.units == Units::inch ? (iso ? 700 : 200) : (iso ? 710 : 210));
  if (at_start && dialect_.cycles) block_.code('G', 800);
  block_.code('G', 900);
  if (dialect_.inverse_time || dialect_.feed_per_revolution) block_.code('G', 940);
  control_.modes = modes;
  control_.knowledge = Knowledge::known;
  control_.initial_level = motion::unknown;
  end_state_block();
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
