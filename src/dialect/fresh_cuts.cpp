// Plain cuts in whole stretches: the lane beside write_motion(), which gives the same lines. It is left
// wherever anything but axis words is to be said.

#include "dialect/fresh_blocks.hpp"

#include <array>
#include <cmath>

namespace restep::dialect {

void FreshBlocks::write(motion::Stretch const& cuts) {
  std::size_t i = 0;
  while (i < cuts.size) {
    if (takes_plain_cuts(cuts)) i += write_cuts(cuts, i);
    if (i == cuts.size) return;
    write(cuts.step(i));
    ++i;
  }
}

/// The control is in a state in which such a cut needs no word but those of its axes, in this order.
bool FreshBlocks::takes_plain_cuts(motion::Stretch const& cuts) const {
  auto const place = [this](char letter) { return dialect_.word_order.find(letter); };
  bool const in_order = dialect_.word_order.empty() || (place('X') < place('Y') && place('Y') < place('Z'));
  bool const repeats = dialect_.repeat_codes || dialect_.repeat_axes || dialect_.repeat_feed;
  bool const waits = pending_speed_ || pending_tool_ || !pending_comment_.empty() || !block_.empty() ||
                     modes_were_given_ || name_motion_ || tool_change_to_stop_for_;
  motion::Modes const& modes = control_.modes;
  double const feed = cuts.like.feed;
  int const decimals = dialect_.feed_decimals(modes.units);
  bool const feed_stands =
      feed / mm_per_unit() <= largest_number &&
      is_feed_in_force(feed, value_of(digits_of(feed / mm_per_unit(), decimals), decimals) * mm_per_unit());
  bool const modes_are_right = modes.motion == 10 && modes.distance == motion::Distance::absolute &&
                               modes.feed_mode == motion::FeedMode::per_minute &&
                               modes.units == units_for(cuts.modes.units);
  return in_order && !repeats && !waits && modes_are_right && control_.knowledge == Knowledge::known &&
         motion::is_known(control_.position) && !dialect_.incremental_moves && !is_numbered() && begun_ &&
         numbered_ && !optional_ && delete_switch_ == 0 && feed_stands;
}

/// Gives how many of the cuts from `first` on were written. The next one has a length that cannot be written,
/// or a line that is too long; there is another way for that.
std::size_t FreshBlocks::write_cuts(motion::Stretch const& cuts, std::size_t first) {
  double const unit = mm_per_unit();
  NumberStyle const style{dialect_.always_point, dialect_.trailing_zeros, dialect_.plus_sign};
  std::array<int, 3> const places{decimals('X'), decimals('Y'), decimals('Z')};
  lines_.clear();
  std::size_t i = first;
  for (; i < cuts.size; ++i) {
    std::size_t const begin = lines_.size();
    motion::Vec3 const to = cuts.point(i + 1);
    motion::Vec3 stands = control_.position;
    bool fits = true;
    for (int axis = 0; axis < 3; ++axis) {
      if (std::abs(to[axis] - stands[axis]) <= same_place) continue;
      double const value = to[axis] / unit;
      fits = std::abs(value) <= largest_number;
      if (!fits) break;
      int const decimals = places[static_cast<std::size_t>(axis)];
      std::int64_t const digits = digits_of(value, decimals);
      double const place = value_of(digits, decimals) * unit;
      if (std::abs(place - stands[axis]) <= same_place) continue;
      if (lines_.size() > begin && dialect_.spaces) lines_ += ' ';
      lines_ += axis_letters[axis];
      append_number(lines_, digits, dialect_.count_increments ? 0 : decimals, style);
      stands[axis] = place;
    }
    if (!fits || lines_.size() - begin > dialect_.max_line_length) {
      lines_.resize(begin);
      break;
    }
    if (lines_.size() == begin) continue;
    lines_ += line_end_;
    control_.position = stands;
    ++count_.afresh;
  }
  if (i > first) note_motion();
  if (!lines_.empty()) out_(lines_);
  return i - first;
}

} // namespace restep::dialect
