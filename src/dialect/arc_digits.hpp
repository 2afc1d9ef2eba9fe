#pragma once

#include "geometry/vec.hpp"

#include <array>
#include <cstdint>
#include <optional>

namespace restep::dialect {

/// An arc in its plane as it is to be written. Lengths in mm.
struct ArcInPlane {
  geometry::Vec2 start;  ///< where the control stands
  geometry::Vec2 end;    ///< where the written words will take it
  geometry::Vec2 centre; ///< meant
  bool counter_clockwise = false;
  double sweep = 0;                        ///< meant, radians in (0, 2 pi]
  double radius_begin = 0, radius_end = 0; ///< meant, at its own start and end
};

/// The grid of the written digits.
struct ArcGrid {
  int decimals = 3;
  double mm_per_unit = 1;
  bool absolute = false;           ///< centre words are coordinates, not distances from the start
  double radius_tolerance = 0.002; ///< mm
  double reach = 0.00125;          ///< how far the written course may leave the meant one, mm
};

/// The two centre words, in last-digit units: of the digits around the exact values those with which the
/// radius at the start and at the end agree best. Nothing when they cannot agree within the tolerance, or
/// when the written arc would turn through another angle than meant (a tiny arc must not become a full
/// circle).
std::optional<std::array<std::int64_t, 2>> centre_digits(ArcInPlane const& arc, ArcGrid const& grid);

/// The R word, in last-digit units, for an arc of less than a half turn: of the digits around the exact
/// radius that with which the course (its centre found from both ends, NISTIR 6556, 3.5.3.1) leaves the meant
/// one least. Nothing when it would leave it further than the grid's reach, or when the ends all but meet.
std::optional<std::int64_t> radius_digits(ArcInPlane const& arc, ArcGrid const& grid);

/// How many chords keep within `tolerance` of an arc of `radius` turning through `sweep`, their ends on the
/// arc: sagitta s = R (1 - cos(a / 2)) for the angle a of one chord.
int chords_needed(double radius, double sweep, double tolerance);

} // namespace restep::dialect
