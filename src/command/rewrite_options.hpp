#pragma once

#include "command/failure.hpp"
#include "command/setup.hpp"

#include <optional>
#include <string>
#include <vector>

namespace restep::command {

/// What a job asks of single passes ([[target]]), as text; empty where nothing was said.
struct TargetOptions {
  std::string pass;  ///< "1,3-5"
  std::string lines; ///< "100-250"
  std::string tool;  ///< "T3"
  std::string finish, max_stepdown, min_stepdown;
  std::optional<bool> extend;
  bool keep = false;
  std::string said_by; ///< where the table stands: "part.toml:26"
};

/// The options of rewrite as text; empty where nothing was said.
struct RewriteOptions {
  std::vector<std::string> programs;
  std::string output;
  std::string out_dir;
  bool in_place = false;
  SetupOptions setup;
  std::string job;
  std::string finish;
  std::string max_stepdown, min_stepdown;
  bool extend = false;
  std::string pass;
  std::vector<std::string> skip, with;
  std::string path_tolerance;
  std::string json;
  std::string html;
  Talk talk;
  std::vector<TargetOptions> targets;
  transform::PartSetting setting; ///< of the job alone
};

/// Fills what the command line left open from a job file (TOML). Keys are the options' names; paths in it are
/// relative to the job file. Unknown keys are refused.
Expected<void> add_job(std::string const& file, RewriteOptions& options);

/// Loads the profiles and reads finish, limits, passes and stages.
Expected<Setup> load_rewrite_setup(RewriteOptions const& options);

} // namespace restep::command
