#pragma once

#include "command/failure.hpp"
#include "cutter/tool.hpp"
#include "dialect/profile.hpp"
#include "motion/machine.hpp"
#include "transform/transform.hpp"

#include <string>
#include <vector>

namespace CLI {
class App;
} // namespace CLI

namespace restep::command {

/// What several commands ask for alike, as text.
struct SetupOptions {
  std::vector<std::string> machines; ///< one for most commands; rewrite takes several
  std::string from;
  std::string tools;
  std::vector<std::string> tool;
  std::vector<std::string> offset;
};

/// How much a command says.
struct Talk {
  bool quiet = false;   ///< warnings and errors alone
  bool verbose = false; ///< every edit as well
};

/// Adds --quiet and --verbose.
void add_talk_options(CLI::App& app, Talk& talk);

/// Adds --machine, --from, --tools, --tool and --offset.
void add_setup_options(CLI::App& app, SetupOptions& options);

/// All that a run needs besides the program: loaded, checked, complete.
struct Setup {
  dialect::Dialect from, to;
  motion::Machine machine; ///< without limits when none was named
  bool machine_given = false;
  cutter::ToolTable tools;
  transform::PassTarget target;
  transform::PartSetting setting;
  std::vector<std::string> skip; ///< names of stages
  double path_tolerance = 0.002; ///< mm; see transform::Context
  bool record_path = false;      ///< keep the course of the program for the figures of a report
  bool describe_passes = false;  ///< a report is to tell of passes of which nothing is asked, too
  /// See transform::Context; no option sets it.
  std::function<void(std::vector<motion::Step>&)> before_proof{};
};

/// Loads the profiles, of the first machine where there are several. Without a machine the program stays in
/// its dialect and nothing is limited.
Expected<Setup> load_setup(SetupOptions const& options);

Expected<dialect::Dialect> load_dialect_option(std::string const& name);

Failure profile_failure(dialect::ProfileError const& error);

/// The dialect a program is taken to be written in when nothing is said.
inline constexpr char const* default_dialect = "rs274ngc";

} // namespace restep::command
