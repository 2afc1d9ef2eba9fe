#pragma once

#include "motion/step.hpp"

#include <cmath>
#include <cstdint>
#include <numbers>

namespace restep::interpret {

/// What the program's coordinates are put through before they are places in the work offset: rotation in XY
/// (G68), uniform scaling (G51) or mirror image in X and Y (G51.1). One at a time: controls disagree on their
/// order.
struct Frame {
  enum class Kind : std::uint8_t { none, turned, scaled, mirrored };
  Kind kind = Kind::none;
  motion::Vec3 centre{}; ///< of the rotation or scaling; the mirror lines
  double cosine = 1, sine = 0;
  double factor = 1;
  bool mirror[2] = {false, false}; ///< in X, in Y

  bool active() const { return kind != Kind::none; }

  // turned:   p' = c + R (p - c), R counter-clockwise by the angle
  // scaled:   p' = c + s (p - c)
  // mirrored: p' = 2 c - p along the mirrored axes
  motion::Vec3 place(motion::Vec3 const& p) const {
    switch (kind) {
    case Kind::none: return p;
    case Kind::scaled: return centre + factor * (p - centre);
    case Kind::mirrored:
      return {mirror[0] ? 2 * centre.x - p.x : p.x, mirror[1] ? 2 * centre.y - p.y : p.y, p.z};
    case Kind::turned: break;
    }
    double const x = p.x - centre.x;
    double const y = p.y - centre.y;
    return {centre.x + cosine * x - sine * y, centre.y + sine * x + cosine * y, p.z};
  }

  /// Clockwise becomes counter-clockwise.
  bool turns_over() const { return kind == Kind::mirrored && mirror[0] != mirror[1]; }

  /// `degrees` counter-clockwise; quarter turns are exact.
  void turn(double degrees) {
    double const quarter = std::remainder(degrees, 360.0) / 90.0;
    if (quarter == std::round(quarter)) {
      int const turns = (static_cast<int>(quarter) + 4) % 4;
      cosine = turns == 0 ? 1 : turns == 2 ? -1 : 0;
      sine = turns == 1 ? 1 : turns == 3 ? -1 : 0;
      return;
    }
    double const angle = degrees * std::numbers::pi / 180;
    cosine = std::cos(angle);
    sine = std::sin(angle);
  }
};

} // namespace restep::interpret
