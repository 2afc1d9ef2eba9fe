#include "interpret/execute.hpp"
#include "interpret/lengths.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdlib>

namespace restep::interpret {

using grammar::Word;

namespace {

constexpr std::int64_t largest_count = 1'000'000'000 * grammar::Decimal::one;
constexpr Picometres farthest = 40'000'000 * std::int64_t{1'000'000'000};

} // namespace

Picometres Executor::counted(grammar::Decimal const& value) const {
  std::int64_t const count = value.scaled / grammar::Decimal::one;
  return control_.modes.units == motion::Units::mm ? count * increment_mm_
                                                   : from_inch(count * increment_inch_);
}

bool Executor::read_length(Word const& word, Picometres& length) {
  std::int64_t const scaled = word.value.scaled;
  bool const counts = rules_.count_without_point && !word.value.point;
  std::int64_t const limit = counts ? largest_count : longest_number;
  if (scaled > limit || scaled < -limit)
    return refuse("length-out-of-range", fmt::format("{} is longer than any machine", text(word)),
                  "check for a missing decimal point", word.span);
  if (counts)
    length = counted(word.value);
  else
    length = control_.modes.units == motion::Units::mm ? scaled : from_inch(scaled);
  return true;
}

bool Executor::targets(Position& target) {
  blind_ = 0;
  bool const polar = control_.polar;
  if (polar && !polar_target(target)) return false;
  bool const plain_lengths = control_.modes.units == motion::Units::mm && !rules_.count_without_point;
  for (int axis = 0; axis < 3; ++axis) {
    char const letter = static_cast<char>('X' + axis);
    if (!words_.has(letter) || (polar && axis < 2)) continue;
    Word const& word = words_.word(letter);
    Picometres length = word.value.scaled;
    if (!(plain_lengths && length <= longest_number && length >= -longest_number) &&
        !read_length(word, length))
      return false;
    if (control_.modes.distance == motion::Distance::absolute) {
      target.set(axis, length);
    } else if (target.known(axis)) {
      Picometres const sum = target.at(axis) + length;
      if (std::abs(sum) > farthest)
        return refuse("length-out-of-range",
                      fmt::format("{} leads farther than any machine reaches", text(word)),
                      "check the distance mode (G90, G91)", word.span);
      target.set(axis, sum);
    } else if (length != 0) {
      blind_ |= bit_of(axis);
    }
  }
  return true;
}

Word const& Executor::motion_word() const {
  return words_.has(Group::motion) ? words_.code_word(Group::motion)
                                   : words_.first_of(axis_letters | centre_letters | letter_bit('R'));
}

bool Executor::feed_given(Word const& at) {
  auto const& modes = control_.modes;
  if (control_.feed_in_doubt) return true;
  if (modes.feed_mode == motion::FeedMode::inverse_time && !words_.has('F'))
    return refuse("inverse-time-without-feed",
                  "no F in this block: with G93 every cutting move needs its own",
                  "add F as 1 over the minutes of the move", at.span);
  if (modes.feed <= 0)
    return refuse("no-feed", "a cutting move, but no feed rate is given",
                  "write F in this block or before it; a change of units or feed mode drops the old F",
                  at.span);
  if (modes.feed_mode == motion::FeedMode::per_revolution && control_.rpm <= 0 && !control_.spindle_in_doubt)
    return refuse("no-spindle-speed", "feed per revolution (G95), but no spindle speed is given",
                  "write S before this block", at.span);
  return true;
}

void Executor::put(motion::PathKind path, motion::Vec3 const& from, motion::Vec3 const& centre) {
  auto const& modes = control_.modes;
  auto& move = queue_.push<motion::Motion>();
  move.path = path;
  move.plane = modes.plane;
  move.feed_mode = modes.feed_mode;
  move.compensated = control_.side != motion::Side::off || control_.leaving_compensation != 0;
  move.rotary = words_.any(rotary_letters);
  move.blind = blind_;
  move.from = from;
  move.to = control_.position.mm();
  move.centre = centre;
  move.feed = path == motion::PathKind::rapid ? 0 : modes.feed;
  if (control_.frame.active() || motion::is_known(before_change_.x) || motion::is_known(before_change_.y) ||
      motion::is_known(before_change_.z))
    place(move);
  if (control_.leaving_compensation != 0) {
    if (words_.has('X')) control_.leaving_compensation &= static_cast<AxisSet>(~1U);
    if (words_.has('Y')) control_.leaving_compensation &= static_cast<AxisSet>(~2U);
  }
}

/// Puts a move where it is carried out.
void Executor::place(motion::Motion& move) {
  Frame const& frame = control_.frame;
  move.from = frame.place(move.from);
  move.to = frame.place(move.to);
  move.centre = frame.place(move.centre);
  if (motion::is_arc(move) && frame.turns_over())
    move.path = move.path == motion::PathKind::arc_cw ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw;
  // An axis that has not moved since the frame changed stands where it stood.
  bool const turned = frame.kind == Frame::Kind::turned;
  for (int axis = 0; axis < 3; ++axis) {
    if (!motion::is_known(move.from[axis])) move.from[axis] = before_change_[axis];
    bool const named =
        turned && axis < 2 ? words_.any(letters_of("XY")) : words_.has(static_cast<char>('X' + axis));
    if (!motion::is_known(move.to[axis]) && !named) move.to[axis] = before_change_[axis];
    if (motion::is_known(control_.position.mm()[axis]) || named) before_change_[axis] = motion::unknown;
  }
}

bool Executor::straight(motion::PathKind path) {
  if (path == motion::PathKind::line && !feed_given(motion_word())) return false;
  motion::Vec3 const from = control_.position.mm();
  if (!targets(control_.position)) return false;
  if (!check_turned_target(control_.position)) return false;
  put(path, from, {});
  return true;
}

bool Executor::machine_move() {
  Word const& code = words_.code_word(Group::non_modal);
  if (motion_ > 10) {
    if (control_.motion_in_doubt) return true;
    return refuse("machine-move-without-motion", "G53 needs G0 or G1 in force",
                  "write G53 G0, or G53 G1 with a feed", code.span);
  }
  if (control_.modes.distance == motion::Distance::incremental)
    return refuse("machine-move-incremental", "G53 names machine coordinates, but G91 is in force",
                  "write G90 in this block", code.span);
  if (words_.any(rotary_letters))
    return refuse("machine-move-rotary", "G53 with a rotary or secondary axis is not understood yet",
                  "move that axis in a block of its own without G53", words_.first_of(rotary_letters).span);
  motion::MachineMove move;
  move.rapid = motion_ == 0;
  move.from = control_.position.mm();
  for (int axis = 0; axis < 3; ++axis) {
    char const letter = static_cast<char>('X' + axis);
    if (!words_.has(letter)) continue;
    Picometres length = 0;
    if (!read_length(words_.word(letter), length)) return false;
    move.to[axis] = in_mm(length);
  }
  if (!move.rapid) {
    if (!feed_given(code)) return false;
    move.feed = control_.modes.feed;
  }
  for (int axis = 0; axis < 3; ++axis)
    if (motion::is_known(move.to[axis])) control_.position.forget(axis);
  move.from = control_.frame.place(move.from);
  queue_.push(move);
  return true;
}

bool Executor::probe() {
  // The start must be farther from the target than this (NISTIR 6556, 3.5.9.1).
  constexpr double least_distance_mm = 0.254;
  Word const& code = motion_word();
  if (words_.any(rotary_letters))
    return refuse("probe-with-rotary-axis", "a probe move with a rotary axis", "probe along X, Y and Z only",
                  words_.first_of(rotary_letters).span);
  if (control_.modes.feed_mode == motion::FeedMode::inverse_time)
    return refuse("probe-with-inverse-time", "a probe move with G93 in force", "select G94 first", code.span);
  if (!feed_given(code)) return false;
  Position target = control_.position;
  if (!targets(target)) return false;
  motion::Probe const move{static_cast<std::int16_t>(motion_), control_.position.mm(), target.mm(),
                           control_.modes.feed};
  if (geometry::distance(move.from, move.to) < least_distance_mm)
    return refuse("probe-too-near", "a probe move must start more than 0.254 mm from its end point",
                  "start farther away", code.span);
  for (int axis = 0; axis < 3; ++axis)
    if (words_.has(static_cast<char>('X' + axis))) control_.position.forget(axis);
  written_ = Written::probe_results;
  queue_.push(move);
  return true;
}

} // namespace restep::interpret
