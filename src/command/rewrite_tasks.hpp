#pragma once

#include "command/failure.hpp"
#include "command/rewrite_options.hpp"

#include <cstddef>
#include <string>
#include <vector>

namespace restep::command {

/// One program for one machine.
struct Task {
  std::string program;
  std::string output; ///< "-" is standard output
  std::string html;   ///< empty when no page is wanted
  bool in_place = false;
  std::size_t machine = 0; ///< place among the machines that were named; 0 where none was
};

/// Which program goes where, program by program and for each all machines; refuses what could overwrite
/// something unasked.
Expected<std::vector<Task>> plan_tasks(RewriteOptions const& options);

} // namespace restep::command
