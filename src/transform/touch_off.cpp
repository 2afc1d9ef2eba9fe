// The tool stands at an unknown height above the plate. Called 0, that height lets the search be a move with
// an end, so that a plate that is not there, or a clip that has come off, stops the tool after the search and
// not in the table: G38.2 without contact is an error of the control (NISTIR 6556, 3.5.9.1). Where it makes
// contact is not known to the program, and called 0 again.
//
//   G92 Z0 / G38.2 Z-40 F100 / G92 Z0 / G0 Z2 / G38.2 Z-2 F20 / G92 Z12 / G0 Z25
//
// G92 holds for every work offset until the end of the program (3.5.18, 3.6.1). G10 L20 P0 stores the same in
// the active one and stays; it is common practice, no standard has it.

#include "transform/touch_off.hpp"

namespace restep::transform {

using motion::Event;
using motion::unknown;

std::vector<Event> touch_off_moves(motion::ContactPlate const& plate, double lift) {
  std::vector<Event> moves;
  auto const call_this_height = [&](double z) {
    if (plate.stores)
      moves.emplace_back(motion::SetOrigin{0, {unknown, unknown, z}, true});
    else
      moves.emplace_back(motion::OffsetChange{920, {unknown, unknown, z}});
  };
  auto const probe = [&](double from, double to, double feed) {
    moves.emplace_back(motion::Probe{382, {unknown, unknown, from}, {unknown, unknown, to}, feed});
  };
  auto const rapid = [&](double from, double to) {
    motion::Motion up;
    up.from = {unknown, unknown, from};
    up.to = {unknown, unknown, to};
    moves.emplace_back(up);
  };
  call_this_height(0);
  probe(0, -plate.search, plate.feed);
  call_this_height(0);
  rapid(0, plate.back_off);
  probe(plate.back_off, -plate.back_off, plate.slow_feed);
  double const contact = plate.face + plate.thickness;
  call_this_height(contact);
  rapid(contact, lift);
  return moves;
}

bool TouchOffPhase::take(motion::Step const& step) {
  if (!step.generated) return active_ = false;
  bool const offset = std::holds_alternative<motion::OffsetChange>(step.event) ||
                      std::holds_alternative<motion::SetOrigin>(step.event);
  if (offset) active_ = true;
  bool const belongs = active_;
  if (std::holds_alternative<motion::Stop>(step.event)) active_ = false;
  return belongs;
}

} // namespace restep::transform
