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

struct FindingsStyle {
  text::Severity least = text::Severity::note; ///< what is less severe is left out
  bool colour = false;                         ///< the kind's name in colour, for a terminal
};

/// All findings as messages, worst first, and how many of a kind were left out.
std::string findings_text(ProgramReport const& report, FindingsStyle style = {});

/// "error", "warning" or "note" in bold colour for a terminal.
std::string painted(std::string_view severity);

/// Every edit with its line; neighbours with one reason in one row.
std::string edits_text(ProgramReport const& report);

/// "name       text ...": a label of fixed width and its text, broken at blanks to fit the terminal.
std::string labelled(std::string_view label, std::string_view text, std::size_t indent = 0);

} // namespace restep::report
