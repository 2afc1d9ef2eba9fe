#pragma once

#include "command/console.hpp"
#include "command/failure.hpp"

#include <functional>

namespace CLI {
class App;
} // namespace CLI

namespace restep::command {

/// One subcommand: its part of the command line and what runs when it was named.
struct Command {
  CLI::App* line = nullptr;
  std::function<ExitCode(Console const&)> run;
};

// One file per command. Each adds itself to the command line; the options live as long as the command.
Command add_rewrite(CLI::App& app);
Command add_inspect(CLI::App& app);
Command add_compare(CLI::App& app);
Command add_steps(CLI::App& app);
Command add_profiles(CLI::App& app);

} // namespace restep::command
