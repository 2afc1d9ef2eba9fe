// Straight cuts in whole stretches (grammar/cuts): nothing but coordinates changes from block to block, so
// that the order of execution has nothing to order and no check of a block has anything to find.

#include "grammar/cuts.hpp"

#include "interpret/execute.hpp"
#include "interpret/lengths.hpp"

#include <cmath>
#include <cstdlib>
#include <limits>

namespace restep::interpret {

namespace {

/// In column 0 where the place before is no number of the program's own unit.
constexpr std::int64_t stays = std::numeric_limits<std::int64_t>::min();

} // namespace

bool Executor::cuts_plainly() const {
  motion::Modes const& modes = control_.modes;
  Position const& at = control_.position;
  bool const known = at.known(0) && at.known(1) && at.known(2) && !at.lost(all_axes);
  bool const changed = motion::is_known(before_change_.x) || motion::is_known(before_change_.y) ||
                       motion::is_known(before_change_.z);
  return known && !changed && modes.motion == 10 && modes.distance == motion::Distance::absolute &&
         modes.feed_mode == motion::FeedMode::per_minute && modes.feed > 0 && !control_.feed_in_doubt &&
         !control_.motion_in_doubt && control_.side == motion::Side::off &&
         control_.leaving_compensation == 0 && !displaced() && !rules_.strict_layout && !ended_;
}

motion::Motion Executor::plain_cut() const {
  motion::Motion cut;
  cut.path = motion::PathKind::line;
  cut.plane = control_.modes.plane;
  cut.feed_mode = control_.modes.feed_mode;
  cut.feed = control_.modes.feed;
  return cut;
}

grammar::CutRules Executor::begin_cuts(grammar::CutLines& lines) const {
  bool const mm = control_.modes.units == motion::Units::mm;
  for (int axis = 0; axis < 3; ++axis)
    lines.value[static_cast<std::size_t>(axis)][0] = mm ? control_.position.at(axis) : stays;
  grammar::CutRules rules;
  rules.needs_points = rules_.count_without_point;
  // The F in force as it must be written; none when it was rounded.
  double const written = (mm ? control_.modes.feed : control_.modes.feed / 25.4) * 1e9;
  if (std::abs(written) < 1e15) {
    std::int64_t const scaled = std::llround(written);
    if (feed_of(scaled) == control_.modes.feed) rules.feed = scaled;
  }
  return rules;
}

std::size_t Executor::take_cuts(grammar::CutLines const& lines, motion::StretchColumns& columns) {
  bool const mm = control_.modes.units == motion::Units::mm;
  motion::Vec3 const from = control_.position.mm();
  columns.set(0, from);
  std::array<double*, 3> const to{columns.x.data(), columns.y.data(), columns.z.data()};
  std::size_t size = lines.size;
  for (int axis = 0; axis < 3; ++axis) {
    auto const& values = lines.value[static_cast<std::size_t>(axis)];
    double* const out = to[static_cast<std::size_t>(axis)];
    for (std::size_t i = 1; i <= size; ++i) {
      std::int64_t const value = values[i];
      if (value > longest_number || value < -longest_number) {
        if (value != stays) {
          size = i - 1; // for the reader of blocks to say
          break;
        }
        out[i] = from[axis];
      } else {
        out[i] = in_mm(mm ? value : from_inch(value));
      }
    }
  }
  if (size == 0) return 0;
  for (int axis = 0; axis < 3; ++axis)
    if (std::int64_t const last = lines.value[static_cast<std::size_t>(axis)][size]; last != stays)
      control_.position.set(axis, mm ? last : from_inch(last));
  if (lines.names_code) control_.initial_level_known = false;
  return size;
}

} // namespace restep::interpret
