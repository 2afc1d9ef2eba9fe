#pragma once

#include "command/console.hpp"
#include "command/outcome.hpp"
#include "command/setup.hpp"

#include <string>

namespace restep::command {

/// Reads the program twice (survey, then rewrite), passes it through the stages, writes it in the target
/// dialect and reads back what was written. `output` ("-" is standard output) appears only when nothing was
/// found wrong and the read-back agreed. With `in_place` the output may replace the program.
Outcome rewrite_program(std::string const& program, std::string const& output, bool in_place,
                        Setup const& setup, Console const& console);

/// Reads the program and reports on it, twice where a machine is named; nothing is changed and no level is
/// moved.
Outcome inspect_program(std::string const& program, Setup const& setup, Console const& console);

} // namespace restep::command
