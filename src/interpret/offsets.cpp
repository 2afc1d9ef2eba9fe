#include "interpret/execute.hpp"
#include "motion/work_offset.hpp"

#include <fmt/format.h>

#include <cmath>

namespace restep::interpret {

using grammar::Word;

namespace {

constexpr std::string_view linear_only = "name X, Y and Z only";

}

bool Executor::home() {
  if (words_.any(rotary_letters)) {
    // The words cannot be said as a home move of X, Y and Z: keep them, and know nothing afterwards.
    queue_.push(motion::Carried{BlockReport(findings_, *line_).text(words_.whole()), true});
    for (int axis = 0; axis < 3; ++axis)
      control_.position.forget(axis);
    return true;
  }
  motion::Home move;
  move.second = words_.code(Group::non_modal) == 300;
  move.from = placed_position();
  Position via = control_.position;
  if (!targets(via)) return false;
  for (int axis = 0; axis < 3; ++axis) {
    char const letter = static_cast<char>('X' + axis);
    if (!words_.has(letter)) continue;
    move.axes |= bit_of(axis);
    move.via[axis] = via.mm()[axis];
    bool const relative = control_.modes.distance == motion::Distance::incremental;
    if (relative && !via.known(axis) && words_.word(letter).value.scaled != 0 &&
        !control_.position.lost(bit_of(axis)))
      return refuse("home-via-unknown",
                    fmt::format("{} counts from a position that no block before it has stated",
                                text(words_.word(letter))),
                    "go home straight with a 0, or state the position first", words_.word(letter).span);
  }
  if (move.axes == 0 || rules_.home_moves_all_axes) move.axes = all_axes;
  for (int axis = 0; axis < 3; ++axis)
    if (move.axes & bit_of(axis)) control_.position.forget(axis);
  queue_.push(move);
  return true;
}

/// G10 L20, common practice: the point where the tool stands gets the coordinates given.
void Executor::name_this_point(motion::SetOrigin& event) {
  bool const active = event.system == 0 || event.system == control_.system;
  for (int axis = 0; axis < 3; ++axis) {
    if (!motion::is_known(event.origin[axis])) continue;
    if (active)
      control_.position.set(axis, std::llround(event.origin[axis] * picometres_per_mm));
    else if (control_.system == 0)
      control_.position.forget(axis);
    int const system = event.system == 0 ? control_.system : event.system;
    if (system > 0 && system <= motion::standard_work_offsets)
      control_.origins[static_cast<std::size_t>(system - 1)].forget(axis);
  }
}

bool Executor::set_origin() {
  Word const& code = words_.code_word(Group::non_modal);
  std::int64_t what = 0;
  bool const number = words_.has('L') && whole_number(words_.word('L').value, what);
  bool const here = number && what == 20 && !rules_.strict_layout;
  if (!number || (what != 2 && !here))
    return refuse("g10-not-understood", "only G10 L2 and L20 (the origin of a work offset) are understood",
                  "set other tables on the control", words_.has('L') ? words_.word('L').span : code.span);
  if (!words_.has('P'))
    return refuse("g10-without-system",
                  fmt::format("G10 L{} without P: which work offset is meant is not said", what),
                  "write P1 for G54 up to P9 for G59.3", code.span);
  std::int64_t system = 0;
  if (!whole(words_.word('P'), here ? 0 : 1, 9, "the work offset P of G10", system)) return false;
  if (words_.any(rotary_letters))
    return refuse("g10-rotary", "the origin of a rotary or secondary axis is not understood yet", linear_only,
                  words_.first_of(rotary_letters).span);
  if (control_.modes.distance == motion::Distance::incremental)
    return refuse("g10-incremental",
                  "G10 with G91 in force: controls disagree on whether the values are added",
                  "write G90 in this block", code.span);

  motion::SetOrigin event;
  event.system = static_cast<int>(system);
  event.here = here;
  for (int axis = 0; axis < 3; ++axis) {
    char const letter = static_cast<char>('X' + axis);
    Picometres length = 0;
    if (!words_.has(letter)) continue;
    if (!read_length(words_.word(letter), length)) return false;
    event.origin[axis] = in_mm(length);
  }
  control_.initial_level_known = false;
  if (here)
    name_this_point(event);
  else
    store_origin(event);
  queue_.push(event);
  return true;
}

void Executor::store_origin(motion::SetOrigin const& event) {
  auto& origin = control_.origins[static_cast<std::size_t>(event.system - 1)];
  bool const active = event.system == control_.system;
  for (int axis = 0; axis < 3; ++axis) {
    if (!motion::is_known(event.origin[axis])) continue;
    Picometres const length = std::llround(event.origin[axis] * picometres_per_mm);
    if (active && origin.has(axis) && control_.position.known(axis))
      control_.position.set(axis, control_.position.at(axis) + origin[axis] - length);
    else if (active || control_.system == 0)
      control_.position.forget(axis);
    origin.set(axis, length);
  }
}

// The point where the tool stands keeps its place: position + shift is the same before and after.
void Executor::replace_shift(KnownLengths const& next) {
  for (int axis = 0; axis < 3; ++axis) {
    auto& position = control_.position;
    if (!position.known(axis)) continue;
    if (control_.shift.has(axis) && next.has(axis))
      position.set(axis, position.at(axis) + control_.shift[axis] - next[axis]);
    else
      position.forget(axis);
  }
  control_.shift = next;
}

bool Executor::shift_by_g92() {
  motion::OffsetChange event;
  event.code = static_cast<std::int16_t>(words_.code(Group::non_modal));
  control_.initial_level_known = false;
  if (event.code != 920) {
    KnownLengths const none{{}, all_axes};
    KnownLengths const next = event.code == 923 ? control_.saved_shift : none;
    replace_shift(next);
    if (event.code == 921) control_.saved_shift = none;
    queue_.push(event);
    return true;
  }
  Word const& code = words_.code_word(Group::non_modal);
  if (words_.any(rotary_letters))
    return refuse("g92-rotary", "G92 of a rotary or secondary axis is not understood yet", linear_only,
                  words_.first_of(rotary_letters).span);
  if (!words_.any(linear_letters))
    return refuse("g92-without-axes", "G92 without axis words", "name the axes and their new values",
                  code.span);
  for (int axis = 0; axis < 3; ++axis) {
    char const letter = static_cast<char>('X' + axis);
    if (!words_.has(letter)) continue;
    Picometres value = 0;
    if (!read_length(words_.word(letter), value)) return false;
    event.values[axis] = in_mm(value);
    // offset = (current - given) + old offset (NISTIR 6556, 3.5.18)
    if (control_.position.known(axis) && control_.shift.has(axis))
      control_.shift.set(axis, control_.shift[axis] + control_.position.at(axis) - value);
    else
      control_.shift.forget(axis);
    control_.position.set(axis, value);
  }
  control_.saved_shift = control_.shift;
  queue_.push(event);
  return true;
}

bool Executor::local_shift() {
  motion::OffsetChange event;
  event.code = 520;
  Word const& code = words_.code_word(Group::non_modal);
  if (words_.any(rotary_letters))
    return refuse("g52-rotary", "G52 of a rotary or secondary axis is not understood yet", linear_only,
                  words_.first_of(rotary_letters).span);
  if (!words_.any(linear_letters))
    return refuse("g52-without-axes", "G52 without axis words", "name the axes and their shift", code.span);
  for (int axis = 0; axis < 3; ++axis) {
    char const letter = static_cast<char>('X' + axis);
    if (!words_.has(letter)) continue;
    Picometres value = 0;
    if (!read_length(words_.word(letter), value)) return false;
    event.values[axis] = in_mm(value);
    if (control_.position.known(axis))
      control_.position.set(axis, control_.position.at(axis) + control_.local_shift[axis] - value);
    control_.local_shift.set(axis, value);
  }
  control_.initial_level_known = false;
  queue_.push(event);
  return true;
}

} // namespace restep::interpret
