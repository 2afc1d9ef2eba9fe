#pragma once

#include <string>

namespace restep::command {

/// Compares `text` with tests/command/golden/NAME. With RESTEP_UPDATE_GOLDEN set in the environment the file
/// is written instead, for a person to read in the diff.
void check_golden(std::string const& name, std::string const& text);

/// The length of the longest line.
std::size_t longest_line(std::string const& text);

} // namespace restep::command
