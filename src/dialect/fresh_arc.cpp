// Arcs: as arc blocks where the control has them and the digits can say them, else as chords.

#include "dialect/arc_digits.hpp"
#include "dialect/fresh_blocks.hpp"
#include "motion/arc.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace restep::dialect {
namespace {

using geometry::Vec2;
using motion::FeedMode;
using motion::Motion;
using motion::PathKind;
using motion::Vec3;

constexpr char axis_letters[] = "XYZ";
constexpr char centre_letters[] = "IJK";
constexpr double same_place = 1e-9; // mm
constexpr double same_angle = 1e-9; // radians

/// A feed for a share of a move: an inverse-time feed is per move, so a part of it takes that part's time.
double feed_for_share(FeedMode mode, double feed, double share) {
  return mode == FeedMode::inverse_time ? feed / share : feed;
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
    double const digit = to_mm(1);
    if (motion::is_known(now) && std::abs(now - start) > 1.5 * digit) {
      refuse("broken-course",
             fmt::format("an arc should begin at {}{:.6} but the program before it ends at {:.6}",
                         axis_letters[axis], start, now),
             "");
      return;
    }
    if (!motion::is_known(now)) control_.position[axis] = start;
  }
  bool const helical = motion::is_known(m.to[axes.normal]) && motion::is_known(m.from[axes.normal]) &&
                       std::abs(m.to[axes.normal] - m.from[axes.normal]) > same_place;
  if (!dialect_.has_plane(m.plane) || (helical && !dialect_.helical_arcs)) {
    write_chords(m, 0, 1, *feed);
    return;
  }
  bool const is_circle = motion::sweep(m) > 2 * std::numbers::pi - same_angle;
  if (!(is_circle && !dialect_.full_circles) && write_arc_piece(m, 0, 1, *feed)) return;
  // Two halves say what one block cannot: a circle whose ends are rounded apart, an arc that all but closes.
  for (double const begin : {0.0, 0.5})
    if (!write_arc_piece(m, begin, begin + 0.5, *feed)) write_chords(m, begin, begin + 0.5, *feed);
}

/// One arc block; false when the digits cannot say it.
bool FreshBlocks::write_arc_piece(Motion const& m, double begin, double end, Feed const& feed) {
  auto const axes = motion::axes_of(m.plane);
  Vec3 const to = end < 1 ? motion::point_at(m, end) : m.to;
  ArcInPlane arc;
  arc.start = {control_.position[axes.first], control_.position[axes.second]};
  arc.end = {moves(axes.first, to[axes.first]) ? rounded(to[axes.first]) : arc.start.x,
             moves(axes.second, to[axes.second]) ? rounded(to[axes.second]) : arc.start.y};
  arc.centre = {m.centre[axes.first], m.centre[axes.second]};
  arc.counter_clockwise = m.path == PathKind::arc_ccw;
  arc.sweep = motion::sweep(m) * (end - begin);
  auto const radius_at = [&](Vec3 const& point) {
    return geometry::distance(Vec2{point[axes.first], point[axes.second]}, arc.centre);
  };
  arc.radius_begin = radius_at(begin > 0 ? motion::point_at(m, begin) : m.from);
  arc.radius_end = radius_at(to);
  bool const inch = control_.modes.units == motion::Units::inch;
  ArcGrid grid;
  grid.decimals = decimals();
  grid.mm_per_unit = mm_per_unit();
  grid.absolute = dialect_.arc_centre_absolute;
  grid.radius_tolerance = inch ? dialect_.read.arc_tolerance_inch * 25.4 : dialect_.read.arc_tolerance_mm;
  auto const centre = centre_digits(arc, grid);
  if (!centre) return false;

  leave_cycle();
  add_plane(m.plane);
  add_distance(motion::Distance::absolute);
  auto const arc_distance =
      dialect_.arc_centre_absolute ? motion::Distance::absolute : motion::Distance::incremental;
  if (control_.modes.arc_distance != arc_distance) {
    block_.code('G', dialect_.arc_centre_absolute ? 901 : 911);
    control_.modes.arc_distance = arc_distance;
  }
  add_feed_mode(feed);
  add_code_if_new(10 * static_cast<int>(m.path));
  // At least one axis word of the plane must stand in an arc block (NISTIR 6556, 3.5.3.2).
  bool const in_plane = moves(axes.first, to[axes.first]) || moves(axes.second, to[axes.second]);
  for (int axis = 0; axis < 3; ++axis) {
    bool const needed = !in_plane && axis != axes.normal;
    if (needed || moves(axis, to[axis])) add_axis(axis, to[axis]);
  }
  for (int axis = 0; axis < 3; ++axis) {
    if (axis == axes.normal) continue;
    auto const digits = (*centre)[axis == axes.first ? 0 : 1];
    if (digits != 0 || grid.absolute) block_.length(centre_letters[axis], digits, control_.modes.units);
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
