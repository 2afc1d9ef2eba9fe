#pragma once

#include "interpret/frame.hpp"
#include "motion/step.hpp"

#include <array>
#include <cstdint>

namespace restep::interpret {

/// A length exactly: 1e-9 mm.
using Picometres = std::int64_t;
inline constexpr double picometres_per_mm = 1e9;

inline double in_mm(Picometres length) {
  return static_cast<double>(length) / picometres_per_mm;
}

/// Bit sets of the linear axes: 1 X, 2 Y, 4 Z.
using AxisSet = std::uint8_t;
inline constexpr AxisSet all_axes = 7;
constexpr AxisSet bit_of(int axis) {
  return static_cast<AxisSet>(1 << axis);
}

/// Three lengths, each known or not.
struct KnownLengths {
  std::array<Picometres, 3> value{};
  AxisSet known = 0;

  bool has(int axis) const { return known & bit_of(axis); }
  Picometres operator[](int axis) const { return value[static_cast<std::size_t>(axis)]; }
  void set(int axis, Picometres length) {
    value[static_cast<std::size_t>(axis)] = length;
    known |= bit_of(axis);
  }
  void forget(int axis) { known &= static_cast<AxisSet>(~bit_of(axis)); }
};

/// Where the tool stands in the active work offset: exact, and as it is handed out.
class Position {
public:
  bool known(int axis) const { return exact_.has(axis); }
  Picometres at(int axis) const { return exact_[axis]; }
  motion::Vec3 const& mm() const { return mm_; }

  void set(int axis, Picometres length) {
    exact_.set(axis, length);
    mm_[axis] = in_mm(length);
    lost_ &= static_cast<AxisSet>(~bit_of(axis));
  }
  void forget(int axis) {
    exact_.forget(axis);
    mm_[axis] = motion::unknown;
  }
  /// Forgets an axis because a block was refused: what follows from that is not reported again.
  void lose(int axis) {
    forget(axis);
    lost_ |= bit_of(axis);
  }
  bool lost(AxisSet axes) const { return lost_ & axes; }

private:
  KnownLengths exact_;
  motion::Vec3 mm_ = motion::unknown_position;
  AxisSet lost_ = 0;
};

/// The values a canned cycle keeps from block to block (NISTIR 6556, 3.5.16). Lengths as they were given;
/// what they count from depends on G90/G91 when they are used.
struct StickyCycle {
  int code = 0; ///< the cycle they belong to, 0 for none
  bool has_bottom = false, has_retract = false, has_dwell = false, has_peck = false;
  Picometres bottom = 0;
  Picometres retract = 0;
  Picometres peck = 0;
  double dwell = 0;
  KnownLengths shift; ///< I J K
};

/// What the program has told about the control so far.
struct Control {
  motion::Modes modes;
  Position position;

  int system = 0; ///< active work offset; 0 until the program names one
  std::array<KnownLengths, 9> origins{};

  bool length_offset_stated = false;
  motion::LengthOffset length_offset;

  motion::Side side = motion::Side::off;
  AxisSet leaving_compensation = 0; ///< axes that have not moved since compensation was cancelled

  motion::Rotation rotation = motion::Rotation::stop;
  double rpm = 0;
  int selected_tool = -1;

  /// Shifts of G92 and G52 against the work offset; zero at the start (NISTIR 6556, table 2).
  KnownLengths shift{{}, all_axes};
  KnownLengths saved_shift{{}, all_axes};
  KnownLengths local_shift{{}, all_axes};

  Frame frame;
  bool polar = false; ///< G16

  StickyCycle cycle;
  bool initial_level_known = false; ///< the height at which the cycle mode was entered
  Picometres initial_level = 0;

  /// What blocks that always run have said of the state (motion::state_word).
  std::uint8_t stated = 0;

  /// Set by a refused block: a missing motion mode, feed or spindle is then not reported as well.
  bool motion_in_doubt = false;
  bool feed_in_doubt = false;
  bool spindle_in_doubt = false;

  /// The state of 3.6.1 after M2 or M30.
  void reset_at_end();
};

} // namespace restep::interpret
