#pragma once

#include "command/failure.hpp"
#include "cutter/tool.hpp"

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

/// The text without blanks at its ends.
std::string_view trimmed(std::string_view text);

} // namespace restep::command
