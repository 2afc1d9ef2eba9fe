#pragma once

#include "command/failure.hpp"
#include "cutter/tool.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

/// The values that options and job files carry as text.
namespace restep::command {

/// A length with its unit ("1um", "0.02mm", "0.001in", "40uin"), in mm; never negative. A bare number is
/// refused: whether it meant mm or inch cannot be known.
Expected<double> parse_length(std::string_view text);

/// An angle in degrees: "3deg" or "3".
Expected<double> parse_angle(std::string_view text);

/// Numbers and ranges from 1: "1,3-5".
Expected<std::vector<std::size_t>> parse_pass_list(std::string_view text);

/// "T3 = bull 3 r0.3".
Expected<cutter::Tool> parse_numbered_tool(std::string_view text);

/// A work offset and where its zero lies on the machine.
struct OffsetValue {
  int system = 1;                                 ///< 1 ... 9
  motion::Vec3 origin = motion::unknown_position; ///< machine coordinates, mm; NaN for axes not named
};

/// "G54 = X120 Y80 Z-150": machine coordinates in mm, or each with its unit ("Z-6in").
Expected<OffsetValue> parse_offset(std::string_view text);

/// Some of X, Y and Z: "X5in Y50 Z-100", mm without a unit; NaN for axes that are not named.
Expected<motion::Vec3> parse_axes(std::string_view text);

/// The number of a work offset by its name, 1 for "G54" to 9 for "G59.3", 10 for "G54.1 P1"; 0 for any other
/// text.
int work_offset_number(std::string_view name);

/// The text without blanks at its ends.
std::string_view trimmed(std::string_view text);

} // namespace restep::command
