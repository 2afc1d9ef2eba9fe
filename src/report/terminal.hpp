#pragma once

#include "report/program_report.hpp"

#include <string>
#include <string_view>

namespace restep::report {

/// Lines of at most this many characters.
inline constexpr std::size_t terminal_width = 80;

/// What rewrite tells when it is done (or refused): each pass, the totals, the cautions.
std::string rewrite_summary(ProgramReport const& report);

/// What inspect tells: blocks, tools, extents, time, passes.
std::string inspect_summary(ProgramReport const& report);

/// All findings as messages, worst first, and how many of a kind were left out.
std::string findings_text(ProgramReport const& report);

/// "name       text ...": a label of fixed width and its text, broken at blanks to fit the terminal.
std::string labelled(std::string_view label, std::string_view text, std::size_t indent = 0);

} // namespace restep::report
