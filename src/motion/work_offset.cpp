#include "motion/work_offset.hpp"

#include <fmt/format.h>

namespace restep::motion {

std::string work_offset_name(int system) {
  constexpr int first_behind_the_point = 7;
  if (system > standard_work_offsets) return fmt::format("G54.1 P{}", system - standard_work_offsets);
  return system < first_behind_the_point ? fmt::format("G{}", 53 + system)
                                         : fmt::format("G59.{}", system - first_behind_the_point + 1);
}

} // namespace restep::motion
