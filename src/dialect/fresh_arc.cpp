// Arcs: as arc blocks where the control has them and the digits can say them, else as chords.

#include "dialect/arc_digits.hpp"
#include "dialect/fresh_blocks.hpp"
#include "motion/arc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace restep::dialect {
namespace {

using geometry::Vec2;
using motion::FeedMode;
using motion::Motion;
using motion::PathKind;
using motion::Vec3;

constexpr char centre_letters[] = "IJK";
constexpr double same_height = 1e-9; // mm
constexpr double same_angle = 1e-9;  // radians

/// A feed for a share of a move: an inverse-time feed is per move, so a part of it takes that part's time.
double feed_for_share(FeedMode mode, double feed, double share) {
  return mode == FeedMode::inverse_time ? feed / share : feed;
}

/// The shares of an arc at which the dialect wants one block to end and the next to begin; the last is 1.
std::vector<double> borders_of(Motion const& m, Dialect const& dialect, double digit) {
  double const sweep = motion::sweep(m);
  // A piece of two digits would be a line of one, and its neighbour ends on the border as nearly as digits
  // can say.
  double const same_border = 2 * digit / motion::radius(m);
  std::vector<double> borders;
  if (dialect.arc_split == ArcSplit::quadrants) {
    auto const axes = motion::axes_of(m.plane);
    double const start =
        std::atan2(m.from[axes.second] - m.centre[axes.second], m.from[axes.first] - m.centre[axes.first]);
    double const quarter = std::numbers::pi / 2;
    double const turn = m.path == PathKind::arc_ccw ? 1 : -1;
    // The angle from the start to the first border that lies ahead.
    double to_border = std::fmod(-turn * start, quarter);
    if (to_border < same_border) to_border += quarter;
    while (to_border < sweep - same_border) {
      borders.push_back(to_border / sweep);
      to_border += quarter;
    }
  } else if (dialect.arc_split == ArcSplit::halves && sweep > std::numbers::pi + same_border) {
    borders.push_back(0.5);
  }
  // An R word says least about the centre where the arc is a half circle or a full one.
  if (dialect.arc_radius_form && dialect.arc_split != ArcSplit::quadrants) {
    constexpr double widest = 2 * std::numbers::pi / 3;
    int const pieces = static_cast<int>(std::ceil(sweep / widest - same_angle));
    borders.clear();
    for (int i = 1; i < pieces; ++i)
      borders.push_back(static_cast<double>(i) / pieces);
  }
  borders.push_back(1);
  return borders;
}

} // namespace

void FreshBlocks::write_arc(Motion const& m) {
  auto const axes = motion::axes_of(m.plane);
  auto const feed = feed_of(m.feed_mode, m.feed, m);
  if (!feed) return;
  for (int const axis : {axes.first, axes.second}) {
    double const start = m.from[axis];
    if (!motion::is_known(start) || !motion::is_known(m.to[axis])) {
      refuse("arc-from-nowhere", "an arc begins or ends at a place that is not known",
             "move to a stated position before this block");
      return;
    }
    double const now = control_.position[axis];
    double const digit = dialect_.resolution(control_.modes.units);
    if (motion::is_known(now) && std::abs(now - start) > 1.5 * digit) {
      refuse("broken-course",
             fmt::format("an arc should begin at {}{:.6} but the program before it ends at {:.6}",
                         axis_letters[axis], start, now),
             "");
      return;
    }
    if (!motion::is_known(now)) control_.position[axis] = start;
  }
  if (!may_be_arc_block(m)) {
    write_chords(m, 0, 1, *feed);
    return;
  }
  double begin = 0;
  for (double const end : borders_of(m, dialect_, dialect_.resolution(control_.modes.units))) {
    write_arc_pieces(m, begin, end, *feed);
    begin = end;
  }
}

/// The control drives an arc of this plane, course and size.
bool FreshBlocks::may_be_arc_block(Motion const& m) const {
  auto const axes = motion::axes_of(m.plane);
  bool const helical = motion::is_known(m.to[axes.normal]) && motion::is_known(m.from[axes.normal]) &&
                       std::abs(m.to[axes.normal] - m.from[axes.normal]) > same_height;
  if (!dialect_.has_plane(m.plane) || (helical && !dialect_.helical_arcs)) return false;
  double const radius = motion::radius(m);
  if (radius < dialect_.smallest_radius_mm) return false;
  if (dialect_.largest_radius_mm > 0 && radius > dialect_.largest_radius_mm) return false;
  double const chord = 2 * radius * std::sin(std::min(motion::sweep(m), std::numbers::pi) / 2);
  return chord >= dialect_.shortest_arc_mm;
}

/// A share of an arc as one block, or as two halves, or as chords.
void FreshBlocks::write_arc_pieces(Motion const& m, double begin, double end, Feed const& feed) {
  bool const is_circle = motion::sweep(m) * (end - begin) > 2 * std::numbers::pi - same_angle;
  if (!(is_circle && !dialect_.full_circles) && write_arc_piece(m, begin, end, feed)) return;
  // Two halves say what one block cannot: a circle whose ends are rounded apart, an arc that all but closes.
  double const middle = (begin + end) / 2;
  if (!write_arc_piece(m, begin, middle, feed)) write_chords(m, begin, middle, feed);
  if (!write_arc_piece(m, middle, end, feed)) write_chords(m, middle, end, feed);
}

/// One arc block; false when the digits cannot say it.
bool FreshBlocks::write_arc_piece(Motion const& m, double begin, double end, Feed const& feed) {
  auto const axes = motion::axes_of(m.plane);
  Vec3 const to = end < 1 ? motion::point_at(m, end) : m.to;
  auto const mode = distance_mode(to);
  auto const first = word_for(axes.first, to[axes.first], mode);
  auto const second = word_for(axes.second, to[axes.second], mode);
  ArcInPlane arc;
  arc.start = {control_.position[axes.first], control_.position[axes.second]};
  arc.end = {first ? first->place : arc.start.x, second ? second->place : arc.start.y};
  arc.centre = {m.centre[axes.first], m.centre[axes.second]};
  arc.counter_clockwise = m.path == PathKind::arc_ccw;
  arc.sweep = motion::sweep(m) * (end - begin);
  auto const radius_at = [&](Vec3 const& point) {
    return geometry::distance(Vec2{point[axes.first], point[axes.second]}, arc.centre);
  };
  arc.radius_begin = radius_at(begin > 0 ? motion::point_at(m, begin) : m.from);
  arc.radius_end = radius_at(to);
  auto const units = control_.modes.units;
  bool const inch = units == motion::Units::inch;
  ArcGrid grid;
  grid.decimals = decimals(dialect_.arc_radius_form ? 'R' : 'I');
  grid.mm_per_unit = mm_per_unit();
  grid.absolute = dialect_.arc_centre_absolute;
  grid.radius_tolerance = inch ? dialect_.read.arc_tolerance_inch * 25.4 : dialect_.read.arc_tolerance_mm;
  grid.reach = 1.25 * dialect_.arc_resolution(units);
  std::optional<std::array<std::int64_t, 2>> centre;
  std::optional<std::int64_t> radius;
  if (dialect_.arc_radius_form) {
    radius = radius_digits(arc, grid);
  } else {
    centre = centre_digits(arc, grid);
  }
  if (!centre && !radius) return false;

  leave_cycle();
  add_plane(m.plane);
  add_distance(mode);
  auto const arc_distance =
      dialect_.arc_centre_absolute ? motion::Distance::absolute : motion::Distance::incremental;
  if (centre && control_.modes.arc_distance != arc_distance) {
    block_.code('G', dialect_.arc_centre_absolute ? 901 : 911);
    control_.modes.arc_distance = arc_distance;
  }
  add_feed_mode(feed);
  add_code_if_new(10 * static_cast<int>(m.path));
  // At least one axis word of the plane must stand in an arc block (NISTIR 6556, 3.5.3.2).
  bool const in_plane = first || second;
  add_axes(to, in_plane ? 0 : (1U << axes.first) | (1U << axes.second), mode);
  if (radius) block_.length('R', *radius, units);
  for (int axis = 0; centre && axis < 3; ++axis) {
    if (axis == axes.normal) continue;
    auto const digits = (*centre)[axis == axes.first ? 0 : 1];
    if (digits != 0 || grid.absolute) block_.length(centre_letters[axis], digits, units);
  }
  Feed share = feed;
  share.value = feed_for_share(feed.mode, feed.value, end - begin);
  add_feed(share);
  end_block();
  return true;
}

void FreshBlocks::write_chords(Motion const& m, double begin, double end, Feed const& feed) {
  int const count =
      chords_needed(motion::radius(m), motion::sweep(m) * (end - begin), dialect_.chord_tolerance_mm);
  if (count > 1) {
    ++count_.linearised_arcs;
    note_once("arcs-as-chords",
              fmt::format("arcs that the control or its digits cannot say are written as chords within {} mm",
                          dialect_.chord_tolerance_mm),
              "the dialect's chord_tolerance sets this figure");
  }
  for (int i = 1; i <= count; ++i) {
    double const fraction = begin + (end - begin) * i / count;
    Feed share = feed;
    share.value = feed_for_share(feed.mode, feed.value, (end - begin) / count);
    write_straight(PathKind::line, i == count && end >= 1 ? m.to : motion::point_at(m, fraction), share);
  }
}

} // namespace restep::dialect
