#pragma once

#include "command/console.hpp"
#include "command/failure.hpp"
#include "command/outcome.hpp"
#include "command/rewrite_tasks.hpp"

#include <nlohmann/json.hpp>

#include <cstddef>
#include <optional>
#include <ostream>
#include <string>
#include <vector>

namespace restep::command {

/// What one task came to, ready to be told; only what the whole run needs of it is kept.
struct Told {
  ExitCode code = ExitCode::done;
  std::string program; ///< what was written, or where nothing was, what was read
  bool passes_looked_for = true;
  std::size_t passes = 0, restepped = 0;
  double seconds_before = 0, seconds_after = 0;
  double largest_deviation = 0; ///< mm, of the read-back
  std::optional<Failure> page_failure;
  nlohmann::ordered_json json;
};

/// The figures of a task's report; page and JSON are left open.
Told told_of(Outcome const& outcome);

/// Two lines for each task: the file, and below it how it fared.
std::string table_of(std::vector<Told> const& told);

/// Compares what was written for the first machine with what was written for each other one, and adds what it
/// found to the other one's report; false when the cuts do not go the same way though no pass was re-stepped:
/// levels depend on the digits of a control.
Expected<bool> compare_machines(std::vector<Task> const& tasks, std::vector<Told>& told,
                                std::vector<Setup> const& setups, Console const& console, bool quiet,
                                std::ostream& summary);

} // namespace restep::command
