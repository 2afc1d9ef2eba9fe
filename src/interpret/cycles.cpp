#include "interpret/execute.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace restep::interpret {

using grammar::Word;

namespace {

constexpr std::int64_t most_repeats = 9999;

/// I, J and K are lengths.
bool is_shifted(int cycle) {
  return cycle == 760 || cycle == 870;
}

bool dwell_required(int cycle, bool strict) {
  return cycle == 820 || cycle == 890 || (strict && (cycle == 860 || cycle == 880));
}

} // namespace

/// The words of the block laid over the values kept from the blocks before (NISTIR 6556, 3.5.16).
bool Executor::read_sticky(StickyCycle& next) {
  if (control_.cycle.code == motion_)
    next = control_.cycle;
  else
    next = StickyCycle{};
  next.code = motion_;
  if (words_.has(bottom_letter())) {
    if (!read_length(words_.word(bottom_letter()), next.bottom)) return false;
    next.has_bottom = true;
  }
  if (words_.has('R')) {
    if (!read_length(words_.word('R'), next.retract)) return false;
    next.has_retract = true;
  }
  if (words_.has('Q')) {
    if (!read_length(words_.word('Q'), next.peck)) return false;
    if (next.peck <= 0)
      return refuse("peck-not-positive", fmt::format("the peck {} is not above zero", text(words_.word('Q'))),
                    "give Q as a depth above 0", words_.word('Q').span);
    next.has_peck = true;
  }
  if (words_.has('P')) {
    if (!seconds(words_.word('P'), next.dwell)) return false;
    next.has_dwell = true;
  }
  for (int axis = 0; axis < 3 && is_shifted(motion_); ++axis) {
    char const letter = static_cast<char>('I' + axis);
    if (!words_.has(letter)) continue;
    Picometres length = 0;
    if (!read_length(words_.word(letter), length)) return false;
    next.shift.set(axis, length);
  }

  auto const missing = [&](char letter, std::string_view meaning) {
    return refuse("cycle-word-missing",
                  fmt::format("{} needs {}, {}: it is neither in this block nor kept from one before",
                              fmt::format("G{}", motion_ / 10), letter, meaning),
                  fmt::format("add {}", letter), motion_word().span);
  };
  if (!next.has_bottom) return missing(bottom_letter(), "the bottom of the hole");
  if (!next.has_retract) return missing('R', "the retract plane");
  if (!next.has_dwell && dwell_required(motion_, rules_.strict_layout)) return missing('P', "the dwell");
  if (!next.has_peck && (motion_ == 830 || motion_ == 730)) return missing('Q', "the peck");
  if (motion_ == 870)
    for (int axis = 0; axis < 3; ++axis)
      if (!next.shift.has(axis)) return missing(static_cast<char>('I' + axis), "a shift of the bar");
  return true;
}

/// 0 repeats, common practice: the values are kept for the blocks that follow, and no hole is made.
bool Executor::repeats_of_cycle(std::int64_t& repeats) {
  char const letter = rules_.repeats_in_k ? 'K' : 'L';
  if (!words_.has(letter) || (letter == 'K' && is_shifted(motion_))) return true;
  Word const& word = words_.word(letter);
  if (!whole(word, rules_.strict_layout ? 1 : 0, most_repeats,
             letter == 'L' ? "the repeats L of a cycle" : "the repeats K of a cycle", repeats))
    return false;
  if (repeats > 0 || !words_.any(axis_letters & ~letter_bit(bottom_letter()))) return true;
  return refuse("stored-hole-with-position",
                fmt::format("{} stores a hole without making it: controls disagree on whether the tool moves "
                            "to the position given",
                            text(word)),
                "give the position in the next block", word.span);
}

bool Executor::cycle() {
  using motion::Distance;
  using motion::Rotation;
  auto const& modes = control_.modes;
  auto const axes = motion::axes_of(modes.plane);
  Word const& at = motion_word();

  if (words_.any(rotary_letters))
    return refuse("cycle-with-rotary-axis", "a canned cycle that moves a rotary or secondary axis",
                  "turn that axis in a block of its own", words_.first_of(rotary_letters).span);
  if (modes.feed_mode == motion::FeedMode::inverse_time)
    return refuse("cycle-with-inverse-time", "a canned cycle with G93 in force", "select G94 first", at.span);

  bool const resume = control_.motion_in_doubt || control_.position.lost(all_axes);
  StickyCycle next;
  if (resume && control_.cycle.code != motion_ && !words_.has(Group::motion)) return true;
  if (!read_sticky(next)) return false;
  if (!feed_given(at)) return false;

  std::int64_t repeats = 1;
  if (!repeats_of_cycle(repeats)) return false;
  if (repeats == 0) {
    control_.cycle = next;
    return true;
  }
  if (!control_.spindle_in_doubt) {
    if (motion_ == 840 && control_.rotation != Rotation::clockwise)
      return refuse("tapping-without-spindle",
                    "G84 cuts a right-hand thread, but the spindle is not turning clockwise",
                    "start it with M3 first", at.span);
    if (motion_ >= 860 && motion_ <= 880 && control_.rotation == Rotation::stop)
      return refuse("boring-without-spindle",
                    fmt::format("G{} stops and restarts the spindle, but it is not turning", motion_ / 10),
                    "start it with M3 or M4 first", at.span);
  }

  Position hole = control_.position;
  if (control_.polar && !polar_target(hole)) return false;
  KnownLengths step;
  bool const relative = modes.distance == Distance::incremental;
  for (int const axis : {axes.first, axes.second}) {
    char const letter = static_cast<char>('X' + axis);
    if (words_.has(letter) && !control_.polar) {
      Picometres length = 0;
      if (!read_length(words_.word(letter), length)) return false;
      if (relative)
        step.set(axis, length);
      else
        hole.set(axis, length);
    }
    if (hole.known(axis)) continue;
    if (hole.lost(bit_of(axis))) return true;
    return refuse(
        "cycle-position-unknown",
        fmt::format("where the hole is along {} is not known: no block before this one has stated it",
                    letter),
        fmt::format("state {} in this block", letter), at.span);
  }

  // What heights count from: in G91 R counts from where the tool is (from the initial level where that is
  // kept), and the bottom from R.
  bool const height_known = control_.position.known(axes.normal);
  if (!control_.initial_level_known && height_known) {
    control_.initial_level = control_.position.at(axes.normal);
    control_.initial_level_known = true;
  }
  bool const level_known = rules_.initial_level_sticky ? control_.initial_level_known : height_known;
  Picometres const level =
      rules_.initial_level_sticky ? control_.initial_level : control_.position.at(axes.normal);
  bool const returns = modes.return_level == motion::ReturnLevel::initial;
  if (!level_known && (relative || returns)) {
    if (hole.lost(bit_of(axes.normal))) return true;
    return refuse("cycle-level-unknown",
                  fmt::format("the height {} before the cycle is not known, but {} needs it",
                              static_cast<char>('X' + axes.normal),
                              relative ? "G91" : "the return to it (G98)"),
                  fmt::format("move to a stated {} first, or return to R with G99",
                              static_cast<char>('X' + axes.normal)),
                  at.span);
  }
  Picometres const retract = relative ? level + next.retract : next.retract;
  Picometres const bottom = relative ? retract + next.bottom : next.bottom;
  if (bottom > retract)
    return refuse("retract-below-bottom", "the retract plane R lies below the bottom of the hole",
                  relative ? "with G91 the bottom counts from R and must not be positive"
                           : "check R and the bottom",
                  at.span);
  constexpr Picometres most_pecks = 10'000; // no drill is a thousand times as long as its peck is deep
  if ((motion_ == 730 || motion_ == 830) && (retract - bottom) / next.peck > most_pecks)
    return refuse("too-many-pecks",
                  fmt::format("the hole would take {} pecks of {} mm", (retract - bottom) / next.peck + 1,
                              in_mm(next.peck)),
                  "give Q as the depth of one peck", words_.has('Q') ? words_.word('Q').span : at.span);
  Picometres const clear = returns ? std::max(level, retract) : retract;

  motion::Cycle event;
  event.code = static_cast<std::int16_t>(motion_);
  event.plane = modes.plane;
  event.return_level = modes.return_level;
  event.feed_mode = modes.feed_mode;
  event.retract = in_mm(retract);
  event.clear = in_mm(clear);
  event.peck = in_mm(next.peck);
  event.dwell = next.dwell;
  event.feed = modes.feed;
  Picometres shift[3];
  for (int axis = 0; axis < 3; ++axis)
    shift[axis] = next.shift[axis];
  // G87: the letter along the normal axis is a height, counted from the bottom in G91 (3.5.16.8).
  if (motion_ == 870 && relative) shift[axes.normal] += bottom;
  event.shift_i = in_mm(shift[0]);
  event.shift_j = in_mm(shift[1]);
  event.shift_k = in_mm(shift[2]);

  for (std::int64_t i = 0; i < repeats; ++i) {
    for (int const axis : {axes.first, axes.second})
      if (step.has(axis)) hole.set(axis, hole.at(axis) + step[axis]);
    event.from = placed_position();
    hole.set(axes.normal, bottom);
    event.hole = control_.frame.place(hole.mm());
    queue_.push(event);
    hole.set(axes.normal, clear);
    control_.position = hole;
  }
  control_.cycle = next;
  return true;
}

} // namespace restep::interpret
