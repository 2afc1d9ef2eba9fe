#include "interpret/execute.hpp"

#include <fmt/format.h>

#include <cmath>

namespace restep::interpret {

using geometry::Vec2;
using grammar::Word;

namespace {

char axis_letter(int axis) {
  return static_cast<char>('X' + axis);
}
char centre_letter(int axis) {
  return static_cast<char>('I' + axis);
}
std::string_view plane_name(motion::Plane plane) {
  return plane == motion::Plane::xy ? "XY" : plane == motion::Plane::zx ? "XZ" : "YZ";
}
Vec2 in_plane(Position const& position, motion::PlaneAxes axes) {
  return {position.mm()[axes.first], position.mm()[axes.second]};
}

} // namespace

double Executor::arc_tolerance() const {
  return control_.modes.units == motion::Units::mm ? rules_.arc_tolerance_mm
                                                   : rules_.arc_tolerance_inch * 25.4;
}

/// Whether the words of an arc make one, wherever it starts.
bool Executor::check_arc_words(motion::PlaneAxes axes) {
  bool const has_end = words_.any(letter_bit(axis_letter(axes.first)) | letter_bit(axis_letter(axes.second)));
  if (words_.has(centre_letter(axes.normal))) {
    Word const& word = words_.word(centre_letter(axes.normal));
    bool const idle = word.value.scaled == 0 && control_.modes.arc_distance == motion::Distance::incremental;
    if (!idle || rules_.strict_layout)
      return refuse("centre-outside-plane",
                    fmt::format("{} has no meaning for an arc in the {} plane", text(word),
                                plane_name(control_.modes.plane)),
                    "select the plane of the arc first: G17, G18 or G19", word.span);
  }
  if (!has_end && rules_.strict_layout)
    return refuse("arc-without-end", "in RS274/NGC an arc needs an end point in its plane",
                  fmt::format("add {} or {}", axis_letter(axes.first), axis_letter(axes.second)),
                  motion_word().span);
  if (words_.has('R')) {
    if (words_.any(centre_letters))
      return refuse("radius-and-centre", "an arc with both a radius and a centre",
                    "leave R or I, J and K out", words_.word('R').span);
    if (!has_end)
      return refuse("arc-without-end", "an arc with R needs its end point in the plane",
                    fmt::format("add {} or {}", axis_letter(axes.first), axis_letter(axes.second)),
                    words_.word('R').span);
  } else if (!words_.any(letter_bit(centre_letter(axes.first)) | letter_bit(centre_letter(axes.second)))) {
    return refuse("arc-without-centre", "an arc without centre or radius",
                  fmt::format("add {} and {}, or R", centre_letter(std::min(axes.first, axes.second)),
                              centre_letter(std::max(axes.first, axes.second))),
                  motion_word().span);
  }
  return true;
}

bool Executor::arc() {
  auto const axes = motion::axes_of(control_.modes.plane);
  if (!check_arc_words(axes)) return false;
  bool const helix = words_.has(axis_letter(axes.normal));
  for (int const axis : {axes.first, axes.second, axes.normal}) {
    if (control_.position.known(axis) || (axis == axes.normal && !helix)) continue;
    if (control_.position.lost(bit_of(axis))) {
      // A refused block is the reason: go on from where this arc ends.
      Position target = control_.position;
      if (!targets(target)) return false;
      control_.position = target;
      return true;
    }
    return refuse(
        "arc-start-unknown",
        fmt::format("an arc from an unknown {}: no block before it says where it starts", axis_letter(axis)),
        fmt::format("move to a stated {} first, with G0 or G1", axis_letter(axis)), motion_word().span);
  }

  Position target = control_.position;
  if (!targets(target)) return false;
  if (!feed_given(motion_word())) return false;
  motion::Vec3 centre = control_.position.mm();
  bool const found = words_.has('R') ? arc_centre_from_radius(axes, target, centre)
                                     : arc_centre_from_offsets(axes, target, centre);
  if (!found) return false;
  motion::Vec3 const from = control_.position.mm();
  control_.position = target;
  put(motion_ == 20 ? motion::PathKind::arc_cw : motion::PathKind::arc_ccw, from, centre);
  return true;
}

bool Executor::arc_centre_from_offsets(motion::PlaneAxes axes, Position const& target, motion::Vec3& centre) {
  bool const absolute = control_.modes.arc_distance == motion::Distance::absolute;
  Picometres to_start[2];
  Picometres to_end[2];
  Picometres offset[2] = {0, 0};
  int const plane_axes[2] = {axes.first, axes.second};
  for (int i = 0; i < 2; ++i) {
    int const axis = plane_axes[i];
    char const letter = centre_letter(axis);
    if (words_.has(letter)) {
      if (!read_length(words_.word(letter), offset[i])) return false;
    } else if (absolute) {
      return refuse("centre-incomplete",
                    fmt::format("with G90.1 the centre is a point: {} is missing", letter), "add it",
                    motion_word().span);
    }
    Picometres const at = absolute ? offset[i] : control_.position.at(axis) + offset[i];
    centre[axis] = in_mm(at);
    to_start[i] = control_.position.at(axis) - at;
    to_end[i] = target.at(axis) - at;
  }
  double const start_radius = std::hypot(in_mm(to_start[0]), in_mm(to_start[1]));
  double const end_radius = std::hypot(in_mm(to_end[0]), in_mm(to_end[1]));
  Word const& word = words_.first_of(centre_letters);
  text::Span const span = word.span;
  if (start_radius == 0)
    return refuse("arc-without-radius", "the arc's centre is its start point", "check I, J and K", span);
  constexpr double rounding = 1e-9;
  if (std::abs(start_radius - end_radius) <= arc_tolerance() + rounding) return true;

  // The usual slip is the other way of giving the centre: say so when that one fits.
  double other_start = 0;
  double other_end = 0;
  for (int i = 0; i < 2; ++i) {
    int const axis = plane_axes[i];
    Picometres const at = absolute ? control_.position.at(axis) + offset[i] : offset[i];
    other_start = std::hypot(other_start, in_mm(control_.position.at(axis) - at));
    other_end = std::hypot(other_end, in_mm(target.at(axis) - at));
  }
  bool const other_fits = std::abs(other_start - other_end) <= arc_tolerance() + rounding && other_start > 0;
  return refuse(
      "arc-radius-mismatch",
      fmt::format("the arc does not end on its circle: radius {:.4f} mm at the start, {:.4f} mm at the end "
                  "(they may differ by {:.4f} mm)",
                  start_radius, end_radius, arc_tolerance()),
      !other_fits ? "check the end point and the centre"
      : absolute  ? "the centre fits when it counts from the start point: is G91.1 meant?"
                  : "the centre fits as a point: is G90.1 meant?",
      span);
}

// Centre of an arc with radius R through two points (chord c, midpoint m, n the left normal of the chord):
//   m +- n sqrt(R^2 - (c/2)^2),   R^2 - (c/2)^2 = (R - c/2) (R + c/2)
// The product form keeps its digits where the chord is nearly a diameter. Counter-clockwise with at most half
// a turn has its centre on the left; clockwise, or R < 0, changes the side.
bool Executor::arc_centre_from_radius(motion::PlaneAxes axes, Position const& target, motion::Vec3& centre) {
  Word const& word = words_.word('R');
  Picometres exact_radius = 0;
  if (!read_length(word, exact_radius)) return false;
  double const radius = std::abs(in_mm(exact_radius));
  Vec2 const start = in_plane(control_.position, axes);
  Vec2 const chord{in_mm(target.at(axes.first) - control_.position.at(axes.first)),
                   in_mm(target.at(axes.second) - control_.position.at(axes.second))};
  double const half = geometry::length(chord) / 2;
  if (half == 0)
    return refuse("radius-arc-closed", "an arc with R ends where it starts: its centre could be anywhere",
                  "write a full circle with I, J and K", word.span);
  if (half - radius > arc_tolerance())
    return refuse("radius-too-small",
                  fmt::format("the end point is {:.4f} mm away, farther than twice the radius {:.4f} mm",
                              2 * half, radius),
                  "check R and the end point", word.span);
  double const square = (radius - half) * (radius + half);
  double const height = square > 0 ? std::sqrt(square) : 0;
  bool const left = (motion_ == 30) == (exact_radius > 0);
  Vec2 const normal = geometry::left_normal(chord) / (2 * half);
  Vec2 const found = start + chord / 2 + (left ? height : -height) * normal;
  centre[axes.first] = found.x;
  centre[axes.second] = found.y;
  return true;
}

} // namespace restep::interpret
