#include "command/command_line.hpp"
#include "command/setup.hpp"
#include "command/skeleton.hpp"
#include "dialect/nearest.hpp"
#include "dialect/profile.hpp"
#include "dialect/profile_view.hpp"
#include "report/json.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <memory>
#include <string_view>
#include <vector>

namespace restep::command {

namespace {

using dialect::ProfileKind;

constexpr std::array kinds{ProfileKind::dialect, ProfileKind::machine, ProfileKind::tools};

struct ProfilesOptions {
  std::string show;
  std::string check;
  std::string kind;
  std::string json;
};

/// Writes JSON when it was asked for; true when the text is to be left out.
Expected<bool> told_as_json(Console const& console, nlohmann::ordered_json const& json,
                            std::string const& file) {
  if (file.empty()) return false;
  if (auto const written = write_json(console, json, file); !written) return tl::unexpected(written.error());
  return file == "-";
}

ExitCode list(ProfilesOptions const& options, Console const& console) {
  auto const entries = dialect::list_profiles();
  nlohmann::ordered_json json = nlohmann::ordered_json::array();
  for (auto const& entry : entries) {
    json.push_back({{"kind", dialect::word_for(entry.kind)},
                    {"name", entry.name},
                    {"title", entry.title},
                    {"file", entry.file}});
  }
  auto const told =
      told_as_json(console, {{"schema", report::schema_version}, {"profiles", json}}, options.json);
  if (!told) return complain(console, told.error());
  if (*told) return ExitCode::done;
  for (auto const& entry : entries)
    console.out << fmt::format("{:<9}{:<18}{}\n", dialect::word_for(entry.kind), entry.name, entry.title);
  if (entries.empty())
    console.out << fmt::format("no profiles in {}\n", fmt::join(dialect::profile_folders(), ", "));
  return ExitCode::done;
}

std::string basename_of(std::string const& file) {
  return std::filesystem::path(file).filename().string();
}

/// The heading under which a key stands.
std::string heading(std::string const& section) {
  return section.starts_with("tool ") ? "[[tool]]" : fmt::format("[{}]", section);
}

/// The profile as one file that stands alone, each value with the place it comes from.
std::string text_of(dialect::ProfileView const& view) {
  constexpr std::size_t remarks = 32; // column in which the places begin
  std::string text = fmt::format("# {} {}: what holds, and which file and line say so\n",
                                 dialect::word_for(view.kind), view.name);
  for (std::string const& file : view.files)
    text += fmt::format("#   {}{}\n", file == view.files.front() ? "" : "on ", file);
  text += fmt::format("\nprofile = \"{}\"\ntitle = \"{}\"\n", dialect::word_for(view.kind), view.title);
  std::string section;
  for (dialect::ProfileValue const& value : view.values) {
    if (value.section != section) {
      section = value.section;
      text += fmt::format("\n{}\n", heading(section));
    }
    bool const said = !value.value.empty();
    std::string const line =
        said ? fmt::format("{} = {}", value.key, value.value) : fmt::format("# {}", value.key);
    std::string const place = said ? fmt::format("{}:{}", basename_of(value.file), value.line) : "not said";
    text += fmt::format("{:<{}} # {}{}{}\n", line, remarks, place, value.remark.empty() ? "" : ": ",
                        value.remark);
  }
  return text;
}

nlohmann::ordered_json json_of(std::vector<dialect::ProfileError> const& errors) {
  nlohmann::ordered_json json = nlohmann::ordered_json::array();
  for (auto const& error : errors) {
    json.push_back({{"file", error.file},
                    {"line", error.line},
                    {"column", error.column},
                    {"message", error.message},
                    {"hint", error.hint}});
  }
  return json;
}

nlohmann::ordered_json json_of(dialect::ProfileView const& view) {
  nlohmann::ordered_json values = nlohmann::ordered_json::array();
  for (dialect::ProfileValue const& value : view.values) {
    bool const said = !value.value.empty();
    using nlohmann::ordered_json;
    values.push_back({{"section", value.section},
                      {"key", value.key},
                      {"value", said ? ordered_json(value.value) : ordered_json()},
                      {"file", said ? ordered_json(value.file) : ordered_json()},
                      {"line", said ? ordered_json(value.line) : ordered_json()},
                      {"remark", value.remark}});
  }
  return {{"kind", dialect::word_for(view.kind)},
          {"name", view.name},
          {"title", view.title},
          {"files", view.files},
          {"values", values},
          {"faults", json_of(view.errors)}};
}

/// The profiles that a name or file stands for; a name may be a machine's and a dialect's.
Expected<std::vector<dialect::ProfileView>> views_of(std::string const& name) {
  std::vector<ProfileKind> wanted;
  std::vector<std::string> names;
  if (name.ends_with(".toml") || name.find('/') != std::string::npos) {
    auto const kind = dialect::kind_of_profile(name);
    if (!kind) return tl::unexpected(profile_failure(kind.error()));
    wanted.push_back(*kind);
  } else {
    for (auto const& entry : dialect::list_profiles()) {
      names.push_back(entry.name);
      if (entry.name == name) wanted.push_back(entry.kind);
    }
  }
  std::vector<dialect::ProfileView> views;
  for (ProfileKind const kind : wanted) {
    auto view = dialect::view_profile(kind, name);
    if (!view) return tl::unexpected(profile_failure(view.error()));
    views.push_back(std::move(*view));
  }
  if (!views.empty()) return views;
  std::string hint = dialect::did_you_mean(name, names);
  if (hint.empty()) hint = "'restep profiles list' tells the names";
  return wrong_usage(fmt::format("there is no profile '{}'", name), hint);
}

ExitCode show(ProfilesOptions const& options, Console const& console) {
  auto const views = views_of(options.show);
  if (!views) return complain(console, views.error());
  nlohmann::ordered_json json = nlohmann::ordered_json::array();
  for (auto const& view : *views)
    json.push_back(json_of(view));
  auto const told =
      told_as_json(console, {{"schema", report::schema_version}, {"views", json}}, options.json);
  if (!told) return complain(console, told.error());
  ExitCode code = ExitCode::done;
  for (auto const& view : *views) {
    if (!*told) console.out << text_of(view);
    for (auto const& error : view.errors) {
      console.err << dialect::format(error) << '\n';
      code = profile_failure(error).code;
    }
  }
  return code;
}

ExitCode check(ProfilesOptions const& options, Console const& console) {
  auto const errors = dialect::check_profile(options.check);
  auto const told = told_as_json(
      console, {{"schema", report::schema_version}, {"file", options.check}, {"faults", json_of(errors)}},
      options.json);
  if (!told) return complain(console, told.error());
  if (!*told) {
    for (auto const& error : errors)
      console.err << dialect::format(error) << '\n';
    if (errors.empty()) console.out << options.check << ": no fault found\n";
  }
  return errors.empty() ? ExitCode::done : profile_failure(errors.front()).code;
}

ExitCode print_new(ProfilesOptions const& options, Console const& console) {
  std::vector<std::string> words;
  for (ProfileKind const kind : kinds) {
    words.emplace_back(dialect::word_for(kind));
    if (words.back() != options.kind) continue;
    console.out << profile_skeleton(kind);
    return ExitCode::done;
  }
  std::string hint = dialect::did_you_mean(options.kind, words);
  if (hint.empty()) hint = fmt::format("kinds are {}", fmt::join(words, ", "));
  return complain(console,
                  {ExitCode::usage, fmt::format("there is no kind of profile '{}'", options.kind), hint});
}

} // namespace

Command add_profiles(CLI::App& app) {
  auto const options = std::make_shared<ProfilesOptions>();
  CLI::App* line = app.add_subcommand("profiles", "dialects, machines and tool tables");
  line->require_subcommand(1);
  line->footer(R"(
Examples:
  restep profiles list
  restep profiles show bench-mill
  restep profiles new machine > my-mill.toml
  restep profiles check my-mill.toml

How to fill in a profile from a machine's manual: profiles/README.md.)");
  CLI::App* list_line = line->add_subcommand("list", "what is there");
  CLI::App* show_line = line->add_subcommand("show", "what holds in a profile, and who says so");
  show_line->add_option("NAME", options->show, "its name or file")->type_name("")->required();
  CLI::App* check_line = line->add_subcommand("check", "look for faults in a profile");
  check_line->add_option("FILE", options->check, "the file")->type_name("")->required();
  CLI::App* new_line = line->add_subcommand("new", "print a profile to fill in");
  new_line->add_option("KIND", options->kind, "dialect, machine or tools")->type_name("")->required();
  for (CLI::App* each : {list_line, show_line, check_line})
    each->add_option("--json", options->json, "as JSON; '-' is standard output")->type_name("FILE");
  return {line, [options, list_line, show_line, check_line](Console const& console) {
            if (list_line->parsed()) return list(*options, console);
            if (show_line->parsed()) return show(*options, console);
            return check_line->parsed() ? check(*options, console) : print_new(*options, console);
          }};
}

} // namespace restep::command
