#include "command/command_line.hpp"
#include "command/setup.hpp"
#include "dialect/nearest.hpp"
#include "dialect/profile.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <memory>
#include <sstream>

namespace restep::command {

namespace {

struct ProfilesOptions {
  std::string show;
  std::string check;
  std::string json;
};

std::string_view name_of(dialect::ProfileKind kind) {
  switch (kind) {
  case dialect::ProfileKind::dialect: return "dialect";
  case dialect::ProfileKind::machine: return "machine";
  case dialect::ProfileKind::tools: break;
  }
  return "tools";
}

ExitCode list(ProfilesOptions const& options, Console const& console) {
  auto const entries = dialect::list_profiles();
  if (!options.json.empty()) {
    nlohmann::ordered_json json = nlohmann::ordered_json::array();
    for (auto const& entry : entries) {
      json.push_back({{"kind", name_of(entry.kind)},
                      {"name", entry.name},
                      {"title", entry.title},
                      {"file", entry.file}});
    }
    if (auto const written = write_json(console, json, options.json); !written)
      return complain(console, written.error());
    if (options.json == "-") return ExitCode::done;
  }
  for (auto const& entry : entries)
    console.out << fmt::format("{:<9}{:<18}{}\n", name_of(entry.kind), entry.name, entry.title);
  if (entries.empty())
    console.out << fmt::format("no profiles in {}\n", fmt::join(dialect::profile_folders(), ", "));
  return ExitCode::done;
}

ExitCode show(ProfilesOptions const& options, Console const& console) {
  auto const entries = dialect::list_profiles();
  bool found = false;
  std::vector<std::string> names;
  for (auto const& entry : entries) {
    names.push_back(entry.name);
    if (entry.name != options.show) continue;
    std::ifstream file(entry.file, std::ios::binary);
    std::ostringstream content;
    content << file.rdbuf();
    if (!file) return complain(console, {ExitCode::files, entry.file + ": cannot be read", {}});
    console.out << fmt::format("# {} {}: {}\n", name_of(entry.kind), entry.name, entry.file) << content.str();
    found = true;
  }
  if (found) return ExitCode::done;
  std::string hint = dialect::did_you_mean(options.show, names);
  if (hint.empty()) hint = "'restep profiles list' tells the names";
  return complain(console, {ExitCode::usage, fmt::format("there is no profile '{}'", options.show), hint});
}

ExitCode check(ProfilesOptions const& options, Console const& console) {
  auto const errors = dialect::check_profile(options.check);
  for (auto const& error : errors)
    console.err << dialect::format(error) << '\n';
  if (errors.empty()) console.out << options.check << ": no fault found\n";
  return errors.empty() ? ExitCode::done : profile_failure(errors.front()).code;
}

} // namespace

Command add_profiles(CLI::App& app) {
  auto const options = std::make_shared<ProfilesOptions>();
  CLI::App* line = app.add_subcommand("profiles", "dialects, machines and tool tables");
  line->require_subcommand(1);
  line->footer(R"(
Examples:
  restep profiles list
  restep profiles show bench-mill > my-mill.toml
  restep profiles check my-mill.toml)");
  CLI::App* list_line = line->add_subcommand("list", "what is there");
  list_line->add_option("--json", options->json, "as JSON; '-' is standard output")->type_name("FILE");
  CLI::App* show_line = line->add_subcommand("show", "one profile as it stands");
  show_line->add_option("NAME", options->show, "its name")->type_name("")->required();
  CLI::App* check_line = line->add_subcommand("check", "look for faults in a profile");
  check_line->add_option("FILE", options->check, "the file")->type_name("")->required();
  return {line, [options, list_line, show_line](Console const& console) {
            if (list_line->parsed()) return list(*options, console);
            return show_line->parsed() ? show(*options, console) : check(*options, console);
          }};
}

} // namespace restep::command
