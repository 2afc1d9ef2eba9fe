#include "dialect/fresh_blocks.hpp"
#include "motion/arc.hpp"

#include <fmt/format.h>

#include <cmath>

namespace restep::dialect {

using motion::FeedMode;
using motion::Motion;
using motion::PathKind;
using motion::Vec3;

namespace {

constexpr double mm_per_inch = 25.4;

int code_of(PathKind path) {
  return 10 * static_cast<int>(path);
}

} // namespace

double FreshBlocks::mm_per_unit() const {
  return control_.modes.units == motion::Units::mm ? 1 : mm_per_inch;
}

int FreshBlocks::decimals(char letter) const {
  return dialect_.decimals_of(letter, control_.modes.units);
}

std::optional<std::int64_t> FreshBlocks::to_digits(char letter, double mm) {
  double const value = mm / mm_per_unit();
  if (std::abs(value) <= largest_number) return digits_of(value, decimals(letter));
  refuse("length-too-large", fmt::format("a length of {:.6g} mm cannot be written", mm),
         "the program is damaged, or its units are wrong");
  return std::nullopt;
}

double FreshBlocks::to_mm(char letter, std::int64_t digits) const {
  return value_of(digits, decimals(letter)) * mm_per_unit();
}

double FreshBlocks::rounded(char letter, double mm) {
  auto const digits = to_digits(letter, mm);
  return digits ? to_mm(letter, *digits) : mm;
}

motion::Distance FreshBlocks::distance_mode(Vec3 const& to) const {
  if (!dialect_.incremental_moves) return motion::Distance::absolute;
  for (int axis = 0; axis < 3; ++axis)
    if (motion::is_known(to[axis]) && !motion::is_known(control_.position[axis]))
      return motion::Distance::absolute;
  return motion::Distance::incremental;
}

// A distance is counted from the place that the blocks before it mean, not from the one that the step meant:
// what one block's digits leave out, the next block makes good.
std::optional<FreshBlocks::AxisWord> FreshBlocks::axis_word(int axis, double target, motion::Distance mode) {
  char const letter = axis_letters[axis];
  double const origin = mode == motion::Distance::incremental ? control_.position[axis] : 0;
  auto const digits = to_digits(letter, target - origin);
  if (!digits) return std::nullopt;
  return AxisWord{*digits, origin + to_mm(letter, *digits)};
}

std::optional<FreshBlocks::AxisWord> FreshBlocks::word_for(int axis, double target, motion::Distance mode) {
  if (!motion::is_known(target)) return std::nullopt;
  double const now = control_.position[axis];
  if (std::abs(target - now) <= same_place) return std::nullopt;
  auto const word = axis_word(axis, target, mode);
  if (word && std::abs(word->place - now) <= same_place) return std::nullopt;
  return word;
}

void FreshBlocks::add_length(char letter, double mm) {
  if (auto const digits = to_digits(letter, mm)) block_.length(letter, *digits, control_.modes.units);
}

void FreshBlocks::add_axis(int axis, double target, motion::Distance mode) {
  if (auto const word = axis_word(axis, target, mode)) add_axis_word(axis, *word);
}

void FreshBlocks::add_axis_word(int axis, AxisWord word) {
  block_.length(axis_letters[axis], word.digits, control_.modes.units);
  control_.position[axis] = word.place;
}

// A feed in the mode the dialect has.
//   per minute from inverse time:   F = f L       f 1/min, L length of the move in mm
//   per minute from per revolution: F = f n       f mm/rev, n rpm
std::optional<FreshBlocks::Feed> FreshBlocks::feed_of(FeedMode mode, double value, Motion const& move) {
  if (mode == FeedMode::inverse_time && !dialect_.inverse_time) {
    double const length = motion::length(move);
    if (motion::is_known(length)) return Feed{FeedMode::per_minute, value * length};
    refuse("inverse-time",
           "an inverse-time feed cannot become a feed per minute: the move begins nowhere known",
           "move to a stated position before this block");
    return std::nullopt;
  }
  if (mode == FeedMode::per_revolution && !dialect_.feed_per_revolution) {
    if (control_.rpm > 0) return Feed{FeedMode::per_minute, value * control_.rpm};
    refuse("feed-per-revolution",
           "a feed per revolution cannot become a feed per minute: no spindle speed was given",
           "give S before the first feed move");
    return std::nullopt;
  }
  return Feed{mode, value};
}

void FreshBlocks::add_feed_mode(Feed const& feed) {
  if (control_.modes.feed_mode == feed.mode) return;
  block_.code('G', feed.mode == FeedMode::per_minute ? 940 : feed.mode == FeedMode::inverse_time ? 930 : 950);
  control_.modes.feed_mode = feed.mode;
  control_.modes.feed = motion::unknown;
}

bool FreshBlocks::is_feed_in_force(double wanted, double written) const {
  double const now = control_.modes.feed;
  return motion::is_known(now) &&
         (std::abs(now - wanted) <= 1e-9 * wanted || std::abs(now - written) <= 1e-9 * written);
}

void FreshBlocks::add_feed(Feed const& feed) {
  if (feed.value == 0) return;
  bool const inverse = feed.mode == FeedMode::inverse_time;
  double const unit = inverse ? 1 : mm_per_unit();
  if (!(feed.value > 0 && feed.value / unit <= largest_number)) {
    refuse("feed-out-of-range", fmt::format("a feed of {:.6g} cannot be written", feed.value), "");
    return;
  }
  int const decimals = dialect_.feed_decimals(control_.modes.units);
  auto const digits = digits_of(feed.value / unit, decimals);
  if (digits == 0) {
    refuse(
        "feed-too-small",
        fmt::format("a feed of {:.4g} would be written as F0 with {} decimals", feed.value / unit, decimals),
        "give the dialect more decimals_feed, or the block a higher feed");
    return;
  }
  double const written = value_of(digits, decimals) * unit;
  // An inverse-time feed belongs to its own block (NISTIR 6556, 3.5.19).
  if (is_feed_in_force(feed.value, written) && !inverse && !dialect_.repeat_feed) return;
  block_.number('F', digits, decimals);
  control_.modes.feed = written;
}

void FreshBlocks::add_code_if_new(int code) {
  if (control_.modes.motion == code && !name_motion_ && !dialect_.repeat_codes) return;
  name_motion_ = false;
  block_.code('G', code);
  control_.modes.motion = static_cast<std::int16_t>(code);
}

void FreshBlocks::note_motion() {
  moved_ = true;
  stopped_ = false;
  if (!tool_change_to_stop_for_) return;
  findings_.add(text::Severity::error, "tool-change-without-stop",
                "the control has no M6, and the program goes on without a stop to change the tool by hand",
                "put M0 behind the tool change, or use a machine profile with change = \"by_hand\"",
                *tool_change_to_stop_for_);
  tool_change_to_stop_for_.reset();
}

void FreshBlocks::write_motion(Motion const& m) {
  note_motion();
  if (m.rotary) {
    refuse("rotary-move", "a move of a rotary or further axis can only be copied, not written afresh",
           "leave this part of the program unchanged, or use the program's own dialect");
    return;
  }
  if (m.blind != 0) {
    refuse("blind-move",
           "an incremental move from a place that is not known can only be copied, not written afresh",
           "state that place in absolute coordinates (G90) before this block");
    return;
  }
  prepare();
  // Where a stage does not know the place (the axes may have been jogged in a change by hand), the control's
  // own belief is worth nothing: every coordinate is said again.
  for (int axis = 0; axis < 3; ++axis)
    if (!motion::is_known(m.from[axis])) control_.position[axis] = motion::unknown;
  if (motion::is_arc(m)) {
    write_arc(m);
    return;
  }
  Feed feed;
  if (m.path != PathKind::rapid) {
    auto const usable = feed_of(m.feed_mode, m.feed, m);
    if (!usable) return;
    feed = *usable;
  }
  write_straight(m.path, m.to, feed);
}

void FreshBlocks::add_axes(Vec3 const& to, unsigned needed, motion::Distance mode) {
  for (int axis = 0; axis < 3; ++axis) {
    bool const wanted = (needed & (1U << axis)) || (dialect_.repeat_axes && motion::is_known(to[axis]));
    if (wanted) {
      add_axis(axis, to[axis], mode);
    } else if (auto const word = word_for(axis, to[axis], mode)) {
      add_axis_word(axis, *word);
    }
  }
}

void FreshBlocks::write_straight(PathKind path, Vec3 const& to, Feed const& feed) {
  auto const mode = distance_mode(to);
  std::optional<AxisWord> const words[] = {word_for(0, to.x, mode), word_for(1, to.y, mode),
                                           word_for(2, to.z, mode)};
  if (!words[0] && !words[1] && !words[2]) return;
  leave_cycle();
  add_distance(mode);
  if (path != PathKind::rapid) add_feed_mode(feed);
  add_code_if_new(code_of(path));
  for (int axis = 0; axis < 3; ++axis) {
    if (words[axis]) {
      add_axis_word(axis, *words[axis]);
    } else if (dialect_.repeat_axes && motion::is_known(to[axis])) {
      add_axis(axis, to[axis], mode);
    }
  }
  if (path != PathKind::rapid) add_feed(feed);
  end_block();
}

} // namespace restep::dialect
