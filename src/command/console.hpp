#pragma once

#include "command/failure.hpp"
#include "text/input.hpp"

#include <nlohmann/json.hpp>

#include <ostream>
#include <string>

namespace restep::command {

/// Where a command talks to.
struct Console {
  std::ostream& out;
  std::ostream& err;
  bool terminal = false; ///< err is watched by a person: progress may be shown
};

/// "restep: error: ..." with its hint, to err; gives the failure's code.
ExitCode complain(Console const& console, Failure const& failure);

Failure file_failure(text::FileError const& error);

/// Writes `json` to a file, or to standard output for "-".
Expected<void> write_json(Console const& console, nlohmann::ordered_json const& json,
                          std::string const& path);

} // namespace restep::command
