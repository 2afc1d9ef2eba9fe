#pragma once

#include <ostream>
#include <string>
#include <vector>

namespace restep::command {

/// Runs one command line (without the program's own name) and gives the exit status, see ExitCode. `terminal`
/// says that a person watches `err`, so that long work may show its progress there.
int run(std::vector<std::string> const& arguments, std::ostream& out, std::ostream& err, bool terminal);

} // namespace restep::command
