#include "command/rewrite_tasks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <utility>

namespace restep::command {

namespace {

namespace fs = std::filesystem;

/// "yoke.nc" for the machine "bench-mill" or "shop/bench-mill.toml": "yoke.bench-mill.nc".
std::string named_for(std::string const& file, std::string const& machine) {
  if (file.empty()) return file;
  fs::path path(file);
  fs::path const extension = path.extension();
  path.replace_extension();
  path += "." + (machine.ends_with(".toml") ? fs::path(machine).stem().string() : machine);
  path += extension;
  return path.string();
}

Expected<void> check_destinations(RewriteOptions const& options) {
  if (options.programs.empty()) return wrong_usage("no program was named");
  bool const several_machines = options.setup.machines.size() > 1;
  int const destinations =
      (options.output.empty() ? 0 : 1) + (options.out_dir.empty() ? 0 : 1) + (options.in_place ? 1 : 0);
  if (destinations > 1) return wrong_usage("-o, --out-dir and --in-place exclude each other");
  if (options.programs.size() > 1 && options.out_dir.empty() && !options.in_place) {
    return wrong_usage("several programs need a place for each result",
                       "give --out-dir DIR, or --in-place to replace the programs");
  }
  if (several_machines && (options.in_place || options.output == "-" || destinations == 0)) {
    return wrong_usage("several machines need a file for each",
                       "give -o FILE or --out-dir DIR: the machine's name is put before the extension");
  }
  bool const from_standard_input =
      std::find(options.programs.begin(), options.programs.end(), "-") != options.programs.end();
  if (from_standard_input && (options.in_place || !options.out_dir.empty()))
    return wrong_usage("standard input has no name to write under", "use -o FILE");
  if (from_standard_input && several_machines)
    return wrong_usage("standard input can be read for one machine only", "name a file, or one --machine");
  if (!options.html.empty() && options.programs.size() > 1)
    return wrong_usage("a report is about one program", "name one program, or ask for --json");
  if (options.html == "-") return wrong_usage("the report wants a file", "--report FILE.html");
  return {};
}

} // namespace

Expected<std::vector<Task>> plan_tasks(RewriteOptions const& options) {
  if (auto const possible = check_destinations(options); !possible) return tl::unexpected(possible.error());
  std::vector<std::string> const& machines = options.setup.machines;
  std::vector<Task> tasks;
  std::map<std::string, std::string> taken;
  for (std::string const& program : options.programs) {
    for (std::size_t k = 0; k < std::max<std::size_t>(1, machines.size()); ++k) {
      Task task{program, options.output.empty() ? "-" : options.output, options.html, options.in_place, k};
      if (options.in_place) task.output = program;
      if (!options.out_dir.empty())
        task.output = (fs::path(options.out_dir) / fs::path(program).filename()).string();
      if (machines.size() > 1) {
        task.output = named_for(task.output, machines[k]);
        task.html = named_for(task.html, machines[k]);
      }
      auto const [other, fresh] = taken.emplace(task.output, program);
      if (!fresh && task.output != "-") {
        return wrong_usage(other->second == program ? fmt::format("{} would be written twice", task.output)
                                                    : fmt::format("{} and {} would both become {}",
                                                                  other->second, program, task.output));
      }
      tasks.push_back(std::move(task));
    }
  }
  if (options.json == "-" && tasks.front().output == "-")
    return wrong_usage("the program and the JSON cannot both go to standard output");
  return tasks;
}

} // namespace restep::command
