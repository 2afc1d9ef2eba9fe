#pragma once

#include "command/failure.hpp"
#include "command/setup.hpp"
#include "report/program_report.hpp"
#include "text/input.hpp"

#include <nlohmann/json.hpp>

#include <initializer_list>
#include <ostream>
#include <string>

namespace restep::command {

/// Where a command talks to.
struct Console {
  std::ostream& out;
  std::ostream& err;
  bool terminal = false; ///< err is watched by a person: progress may be shown
  bool colour = false;   ///< kinds of findings may be coloured on err
  bool quiet = false;    ///< warnings and errors alone
};

/// The console as the options of one command want it: nothing but warnings and errors when quiet.
Console talking(Console const& console, Talk const& talk);

/// True when a person watches and has not asked for plain text (NO_COLOR, any value but an empty one).
bool wants_colour(bool terminal);

/// Findings as messages to err.
void tell_findings(Console const& console, report::ProgramReport const& report);

/// "restep: error: ..." with its hint, to err; gives the failure's code.
ExitCode complain(Console const& console, Failure const& failure);

Failure file_failure(text::FileError const& error);

/// Fails where a file cannot be written at one of the paths, so that this is known before the work. Nothing
/// is written; empty paths and "-" are none.
Expected<void> check_writable(std::initializer_list<std::string> paths);

/// Writes a text to a file; it appears whole or not at all.
Expected<void> write_file(std::string const& text, std::string const& path);

/// Writes `json` to a file, or to standard output for "-".
Expected<void> write_json(Console const& console, nlohmann::ordered_json const& json,
                          std::string const& path);

} // namespace restep::command
