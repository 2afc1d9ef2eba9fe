// Turned, scaled and mirrored coordinates, and polar ones: worked out, so that they need not be written.
#include "interpret/execute.hpp"

#include <fmt/format.h>

namespace restep::interpret {

using grammar::Word;

namespace {

constexpr std::string_view cancel_first = "cancel it first (G69, G50, G50.1), and set it anew afterwards";

std::string_view name_of(Frame::Kind kind) {
  return kind == Frame::Kind::turned   ? "a rotated coordinate system (G68)"
         : kind == Frame::Kind::scaled ? "scaling (G51)"
                                       : "mirror image (G51.1)";
}

} // namespace

void Executor::forget_places(Frame::Kind kind) {
  // Controls disagree on what the coordinates of the point where the tool stands are now.
  motion::Vec3 const at = placed_position();
  int const axes = kind == Frame::Kind::scaled ? 3 : 2;
  for (int axis = 0; axis < axes; ++axis) {
    before_change_[axis] = at[axis];
    control_.position.forget(axis);
  }
  control_.initial_level_known = false;
  control_.cycle = {};
}

void Executor::end_frame() {
  if (!control_.frame.active()) return;
  using enum Frame::Kind;
  auto const kind = control_.frame.kind;
  if (!(words_.cancels_frame & (kind == scaled ? 1 : kind == mirrored ? 2 : 4))) return;
  forget_places(kind);
  displaced_ = true;
  Frame& frame = control_.frame;
  if (words_.any(letters_of("XY")) && axis_user_ == AxisUser::frame) {
    for (int axis = 0; axis < 2; ++axis)
      if (words_.has(static_cast<char>('X' + axis))) frame.mirror[axis] = false;
    if (frame.mirror[0] || frame.mirror[1]) return;
  }
  frame = {};
}

bool Executor::begin_frame() {
  Word const& code = words_.code_word(Group::frame);
  int const number = words_.code(Group::frame);
  using enum Frame::Kind;
  Frame::Kind const kind = number == 680 ? turned : number == 510 ? scaled : mirrored;
  constexpr auto bit = [](Group group) { return std::uint32_t{1} << static_cast<unsigned>(group); };
  Letters const taken = kind == turned   ? letters_of("XYR")
                        : kind == scaled ? letters_of("XYZP")
                                         : letters_of("XY");
  if ((words_.groups & ~(bit(Group::frame) | bit(Group::plane) | bit(Group::distance))) != 0 ||
      words_.m_groups != 0 || words_.any(~taken)) {
    if (kind == scaled && words_.any(centre_letters))
      return refuse("scaling-by-axis",
                    "scaling with a factor of its own for each axis turns arcs into ellipses",
                    "post the program at its size", words_.first_of(centre_letters).span);
    return refuse("frame-beside-words",
                  fmt::format("{} stands beside words that it has no use for", text(code)),
                  "put it on a line of its own", code.span);
  }
  if (control_.frame.active())
    return refuse("frame-already-active",
                  fmt::format("{} while {} is active: controls disagree on their order", text(code),
                              name_of(control_.frame.kind)),
                  cancel_first, code.span);
  if (control_.side != motion::Side::off)
    return refuse("not-under-compensation", fmt::format("{} while cutter compensation is on", text(code)),
                  "cancel compensation with G40 first", code.span);
  if (control_.polar)
    return refuse("polar-with-frame", fmt::format("{} while polar coordinates are on", text(code)),
                  "switch them off with G15 first", code.span);
  set_modes();
  if (control_.modes.plane != motion::Plane::xy)
    return refuse("frame-outside-xy",
                  fmt::format("{} outside the XY plane is not understood yet", text(code)),
                  "select G17 first", code.span);
  if (control_.modes.distance == motion::Distance::incremental)
    return refuse(
        "frame-incremental",
        fmt::format("{} with G91 in force: controls disagree on what its values count from", text(code)),
        "write G90 in this block", code.span);
  Frame frame;
  frame.kind = kind;
  int const axes = kind == scaled ? 3 : 2;
  for (int axis = 0; axis < axes; ++axis) {
    char const letter = static_cast<char>('X' + axis);
    if (!words_.has(letter)) {
      if (kind == mirrored) continue;
      return refuse(
          "frame-without-centre",
          fmt::format("{} without {}: controls disagree on where its centre then is", text(code), letter),
          fmt::format("add {}", letter), code.span);
    }
    Picometres length = 0;
    if (!read_length(words_.word(letter), length)) return false;
    frame.centre[axis] = in_mm(length);
    if (axis < 2) frame.mirror[axis] = kind == mirrored;
  }
  if (kind == mirrored && !frame.mirror[0] && !frame.mirror[1])
    return refuse("mirror-without-axis", "G51.1 without X or Y: what is mirrored is not said",
                  "name the axes", code.span);
  if (kind == turned) {
    if (!words_.has('R'))
      return refuse("rotation-without-angle", "G68 without R: the angle is not said", "add R in degrees",
                    code.span);
    Word const& angle = words_.word('R');
    if (rules_.count_without_point && !angle.value.point)
      return refuse("angle-without-point",
                    fmt::format("{} has no decimal point: is it degrees or thousandths?", text(angle)),
                    "write a decimal point", angle.span);
    frame.turn(angle.value.value());
  }
  if (kind == scaled) {
    if (!words_.has('P') || !words_.word('P').value.point || words_.word('P').value.scaled <= 0)
      return refuse(
          "scaling-factor",
          "the factor P of G51 must be above 0 and have a decimal point: without one some controls take "
          "it for thousandths",
          "write the factor with a decimal point", words_.has('P') ? words_.word('P').span : code.span);
    frame.factor = words_.word('P').value.value();
  }
  forget_places(kind);
  control_.frame = frame;
  displaced_ = true;
  comments();
  return true;
}

/// What a frame does not go together with.
bool Executor::check_frame() {
  Frame const& frame = control_.frame;
  if (!frame.active() && !control_.polar) return true;
  auto const forbid = [&](Word const& word) {
    return refuse("not-under-frame",
                  fmt::format("{} while {} is active", text(word),
                              control_.polar ? "polar coordinates (G16)" : name_of(frame.kind)),
                  control_.polar ? "switch polar coordinates off with G15 first" : cancel_first, word.span);
  };
  bool const cancelled = words_.has(Group::frame);
  if (words_.has(Group::units)) return forbid(words_.code_word(Group::units));
  if (words_.has(Group::system)) return forbid(words_.code_word(Group::system));
  if (int const side = words_.code_or(Group::compensation, 400);
      side != 400 && (control_.polar || frame.kind != Frame::Kind::turned))
    return forbid(words_.code_word(Group::compensation));
  if (words_.has(Group::length_offset) && frame.kind == Frame::Kind::scaled && !cancelled)
    return forbid(words_.code_word(Group::length_offset));
  if (words_.has(Group::non_modal) && words_.code(Group::non_modal) != 40) {
    int const code = words_.code(Group::non_modal);
    bool const straight_up = (code == 280 || code == 300 || code == 530) && !words_.any(letters_of("XY")) &&
                             words_.has('Z') && frame.kind != Frame::Kind::scaled;
    if (!straight_up) return forbid(words_.code_word(Group::non_modal));
  }
  if (!moves_) return true;
  if (is_probe(motion_)) return forbid(motion_word());
  bool const outside_xy =
      words_.has(Group::plane) ? words_.code(Group::plane) != 170 : control_.modes.plane != motion::Plane::xy;
  bool const arc = is_arc_code(motion_);
  bool const cycle = is_cycle(motion_);
  if (arc && (control_.polar || (outside_xy && frame.kind != Frame::Kind::scaled)))
    return forbid(motion_word());
  if (cycle && (outside_xy || frame.kind == Frame::Kind::scaled || motion_ == 760 || motion_ == 870))
    return forbid(motion_word());
  return true;
}

/// A move that names one of X and Y only is unknown in both when the coordinates are turned.
bool Executor::check_turned_target(Position const& target) {
  if (control_.frame.kind != Frame::Kind::turned || target.known(0) == target.known(1)) return true;
  if (target.lost(3)) return true;
  return refuse(
      "turned-position-unknown",
      "the first move in a rotated coordinate system names one of X and Y only: where it leads depends on "
      "the other",
      "write both X and Y", motion_word().span);
}

/// Polar coordinates: X is the radius about the origin, Y the angle in degrees; both are kept.
bool Executor::polar_target(Position& target) {
  if (!words_.any(letters_of("XY"))) return true;
  Word const& at = words_.first_of(letters_of("XY"));
  if (control_.modes.plane != motion::Plane::xy)
    return refuse("polar-outside-xy", "polar coordinates outside the XY plane are not understood yet",
                  "select G17 first", at.span);
  if (control_.modes.distance == motion::Distance::incremental)
    return refuse("polar-incremental", "incremental polar coordinates are not understood yet", "write G90",
                  at.span);
  if (words_.has('X')) {
    Picometres radius = 0;
    if (!read_length(words_.word('X'), radius)) return false;
    polar_radius_ = in_mm(radius);
  }
  if (words_.has('Y')) {
    Word const& angle = words_.word('Y');
    if (rules_.count_without_point && !angle.value.point)
      return refuse("angle-without-point",
                    fmt::format("{} has no decimal point: is it degrees or thousandths?", text(angle)),
                    "write a decimal point", angle.span);
    polar_angle_ = angle.value.value();
  }
  if (!motion::is_known(polar_radius_) || !motion::is_known(polar_angle_))
    return refuse("polar-incomplete", "the first polar position needs both its radius (X) and its angle (Y)",
                  motion::is_known(polar_radius_) ? "add Y" : "add X", at.span);
  Frame frame;
  frame.kind = Frame::Kind::turned;
  frame.turn(polar_angle_);
  motion::Vec3 const place = frame.place({polar_radius_, 0, 0});
  for (int axis = 0; axis < 2; ++axis)
    target.set(axis, std::llround(place[axis] * picometres_per_mm));
  return true;
}

bool Executor::polar_mode() {
  if (!words_.has(Group::polar)) return true;
  bool const on = words_.code(Group::polar) == 160;
  Word const& code = words_.code_word(Group::polar);
  if (on && control_.frame.active())
    return refuse("polar-with-frame",
                  fmt::format("{} while {} is active", text(code), name_of(control_.frame.kind)),
                  cancel_first, code.span);
  if (on != control_.polar) displaced_ = true;
  control_.polar = on;
  polar_radius_ = polar_angle_ = motion::unknown;
  return true;
}

} // namespace restep::interpret
