#pragma once

#include <limits>

namespace restep::geometry {

/// Micrometres per millimetre, in which cusps and gouges are told.
inline constexpr double um = 1000;

inline constexpr double infinite = std::numeric_limits<double>::infinity();

} // namespace restep::geometry
