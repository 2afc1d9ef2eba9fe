#pragma once

#include <string>

namespace restep::motion {

/// The work offsets of NISTIR 6556: G54 ... G59.3.
inline constexpr int standard_work_offsets = 9;
/// The most that controls have besides, as G54.1 P1, P2 ... (common practice).
inline constexpr int most_further_work_offsets = 300;

/// The name of a work offset by its number: 1 "G54" ... 9 "G59.3", 10 "G54.1 P1" ...
std::string work_offset_name(int system);

} // namespace restep::motion
