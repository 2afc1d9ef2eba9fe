#pragma once

#include "geometry/vec.hpp"
#include "motion/step.hpp"

#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

namespace restep::finish {

using geometry::Vec2;
using geometry::Vec3;

/// One element of a contour in plan.
struct Segment {
  bool arc = false;
  bool ccw = false;
  Vec2 from{}, to{}, centre{};
  std::size_t step = 0; ///< index of its step in the operation

  double radius() const { return geometry::distance(from, centre); }
  /// Digits let the radius at the end differ from that at the start.
  double mean_radius() const {
    return 0.5 * (geometry::distance(from, centre) + geometry::distance(to, centre));
  }
  /// Unit directions of the course at its two ends.
  Vec2 direction_at_from() const { return direction_at(from); }
  Vec2 direction_at_to() const { return direction_at(to); }
  Segment backwards() const { return {arc, !ccw, to, from, centre, step}; }
  /// The point a share of the length behind `from`, and the unit direction there.
  Vec2 point_at(double share) const;
  Vec2 direction_at_share(double share) const {
    return arc ? direction_at(point_at(share)) : direction_at(from);
  }
  double length() const;

private:
  Vec2 direction_at(Vec2 p) const {
    if (!arc) return normalized(to - from);
    Vec2 const left = left_normal(normalized(p - centre));
    return ccw ? left : -left;
  }
};

/// The same course from its other end.
void turn_round(std::vector<Segment>& segments);

/// The part of a level that cuts the surface: a closed loop, or an open path. What leads to it and away from
/// it at the same height (lead-in, lead-out, overlap, step-over) is not in it.
///
/// Counterparts on neighbouring levels may be cut in opposite directions, and a loop may begin anywhere. The
/// elements of all contours of a stack stand in the order of its first level; how this one is really cut is
/// told by `reversed` and by the start.
struct Contour {
  std::vector<Segment> segments;
  double z = 0;
  bool closed = false;
  bool reversed = false;         ///< cut the other way round than its elements are told
  std::size_t start_element = 0; ///< loops: the cut begins on this element ...
  double start_share = 0;        ///< ... this share of its length behind its `from`
  std::size_t first_step = 0, last_step = 0;
  double fed_before = 0; ///< mm of feed moves between the contour before it and this one

  /// Where the tool begins to cut it, and the unit directions of the cut at its start and its end.
  Vec2 cut_start() const;
  Vec2 direction_at_start() const;
  Vec2 direction_at_end() const;
  double length() const;

  /// Turns the order of the elements round and flips `reversed`: the same cut, told from its other end.
  void tell_backwards();

  /// Loops only: joins the last element and the first where the start only parts one line or arc, so that a
  /// loop looks the same wherever its cut begins. `tolerance` mm.
  void forget_start(double tolerance);

  /// Loops only: makes element `first` the first one.
  void rotate_to(std::size_t first);

private:
  void join_parted_lines(double tolerance);
  Vec2 told_direction_at_start() const;
  Vec2 told_direction_at_end() const;
};

/// The contours of an operation in the order they are cut. A run of feed motions at one height is one
/// contour: the longest part of it that returns to its own beginning when there is one, the whole run
/// otherwise. Runs with cutter compensation or rotary words are left out.
std::vector<Contour> find_contours(std::span<motion::Step const> operation);

/// A box in plan that holds a contour's ends of elements and their middles, mm.
struct Extent {
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};

  void add(Vec2 p);
  void add(Extent const& other);
};
Extent extent_of(Contour const& contour);

/// Heights within this are one, mm: below every control's digit.
inline constexpr double same_height = 1e-6;

/// A straight way that goes sideways at one height.
inline bool is_level_way(Vec3 const& from, Vec3 const& to) {
  return std::abs(from.z - to.z) <= same_height && (from.x != to.x || from.y != to.y);
}
/// A straight way that goes sideways and down.
inline bool is_falling_way(Vec3 const& from, Vec3 const& to) {
  return to.z < from.z - same_height && (from.x != to.x || from.y != to.y);
}

/// A straight way that goes sideways and up.
inline bool is_rising_way(Vec3 const& from, Vec3 const& to) {
  return is_falling_way(to, from);
}

/// True for a feed motion in the XY plane at constant known height that moves sideways.
bool is_level_cut(motion::Motion const& motion);

} // namespace restep::finish
