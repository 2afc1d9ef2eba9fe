#include "dialect/nearest.hpp"
#include "dialect/profile_fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>

namespace restep::dialect {
namespace fs = std::filesystem;
namespace {

constexpr ProfileKind all_kinds[] = {ProfileKind::dialect, ProfileKind::machine, ProfileKind::tools};

std::string_view folder_of(ProfileKind kind) {
  return kind == ProfileKind::dialect ? "dialects" : kind == ProfileKind::machine ? "machines" : "tools";
}

std::string_view called(ProfileKind kind) {
  return kind == ProfileKind::dialect ? "dialect" : kind == ProfileKind::machine ? "machine" : "tool table";
}

std::string environment(char const* name) {
  char const* value = std::getenv(name);
  return value == nullptr ? std::string{} : std::string{value};
}

bool is_file_argument(std::string const& argument) {
  return argument.find('/') != std::string::npos ||
         argument.find(static_cast<char>(fs::path::preferred_separator)) != std::string::npos ||
         argument.ends_with(".toml");
}

bool is_file(std::string const& path) {
  std::error_code error;
  return fs::is_regular_file(path, error);
}

std::vector<std::string> names_of(ProfileKind kind) {
  std::vector<std::string> names;
  for (auto const& entry : list_profiles())
    if (entry.kind == kind) names.push_back(entry.name);
  return names;
}

std::string title_of(std::string const& file) {
  toml::table table;
  std::vector<ProfileError> ignored;
  if (!parse_profile(file, table, ignored)) return {};
  return table["title"].value_or(std::string{});
}

/// `profile = "..."` where it stands, else the folder, else what only one kind has.
ProfileKind kind_of(std::string const& file, toml::table const& table) {
  auto const word = table["profile"].value_or(std::string{});
  for (auto const kind : all_kinds)
    if (word == called(kind) || (kind == ProfileKind::tools && word == "tools")) return kind;
  auto const folder = fs::path(file).parent_path().filename().string();
  for (auto const kind : all_kinds)
    if (folder == folder_of(kind)) return kind;
  if (table.contains("tool")) return ProfileKind::tools;
  return table.contains("dialect") ? ProfileKind::machine : ProfileKind::dialect;
}

template <typename Object>
tl::expected<Object, ProfileError> load(ProfileKind kind, ProfileFileReader<Object> reader,
                                        std::string const& name_or_file) {
  auto const file = find_profile(kind, name_or_file);
  if (!file) return tl::unexpected(file.error());
  Object object;
  std::vector<std::string> chain;
  std::vector<ProfileError> errors;
  read_profile(*file, kind, object, reader, chain, errors);
  if (!errors.empty()) return tl::unexpected(errors.front());
  return object;
}

template <typename Object>
tl::expected<Object, ProfileError> load_named(ProfileKind kind, ProfileFileReader<Object> reader,
                                              std::string const& name_or_file) {
  auto object = load(kind, reader, name_or_file);
  if (object) {
    auto const file = find_profile(kind, name_or_file);
    object->name = profile_name(*file);
    object->title = title_of(*file);
  }
  return object;
}

template <typename Object>
void check(std::string const& file, ProfileKind kind, ProfileFileReader<Object> reader,
           std::vector<ProfileError>& errors) {
  Object object;
  std::vector<std::string> chain;
  read_profile(file, kind, object, reader, chain, errors);
}

} // namespace

tl::expected<ProfileKind, ProfileError> kind_of_profile(std::string const& file) {
  toml::table table;
  std::vector<ProfileError> errors;
  if (!parse_profile(file, table, errors)) return tl::unexpected(errors.front());
  return kind_of(file, table);
}

std::string profile_name(std::string const& file) {
  return fs::path(file).stem().string();
}

std::string format(ProfileError const& error) {
  std::string text = error.file;
  if (error.line != 0) text += fmt::format(":{}:{}", error.line, error.column);
  text += fmt::format(": error: {}", error.message);
  if (!error.hint.empty()) text += fmt::format("; {}", error.hint);
  return text;
}

std::vector<std::string> profile_folders() {
  std::vector<std::string> folders;
  if (auto const own = environment("RESTEP_PROFILES"); !own.empty()) folders.push_back(own);
  folders.emplace_back("profiles");
  if (auto const config = environment("XDG_CONFIG_HOME"); !config.empty()) {
    folders.push_back(config + "/restep/profiles");
  } else if (auto const home = environment("HOME"); !home.empty()) {
    folders.push_back(home + "/.config/restep/profiles");
  }
  // Where the running program stands; a system without this link simply has no folder beside the program.
  std::error_code error;
  if (auto const program = fs::read_symlink("/proc/self/exe", error); !error)
    folders.push_back((program.parent_path().parent_path() / "share/restep/profiles").string());
#ifdef RESTEP_SOURCE_PROFILES
  folders.emplace_back(RESTEP_SOURCE_PROFILES);
#endif
  return folders;
}

std::vector<ProfileEntry> list_profiles() {
  std::vector<ProfileEntry> entries;
  for (auto const& folder : profile_folders()) {
    for (auto const kind : all_kinds) {
      std::vector<std::string> files;
      std::error_code error;
      for (fs::directory_iterator it(fs::path(folder) / folder_of(kind), error), end; !error && it != end;
           it.increment(error))
        if (it->path().extension() == ".toml") files.push_back(it->path().string());
      std::sort(files.begin(), files.end());
      for (auto const& file : files) {
        auto const name = profile_name(file);
        bool const hidden = std::any_of(entries.begin(), entries.end(), [&](ProfileEntry const& e) {
          return e.kind == kind && e.name == name;
        });
        if (!hidden) entries.push_back({kind, name, title_of(file), file});
      }
    }
  }
  return entries;
}

tl::expected<std::string, ProfileError> find_profile(ProfileKind kind, std::string const& name_or_file) {
  if (is_file_argument(name_or_file)) {
    if (is_file(name_or_file)) return name_or_file;
    return tl::unexpected(ProfileError{name_or_file, 0, 0, "there is no such file", ""});
  }
  for (auto const& folder : profile_folders()) {
    auto const file = (fs::path(folder) / folder_of(kind) / (name_or_file + ".toml")).string();
    if (is_file(file)) return file;
  }
  auto const names = names_of(kind);
  auto hint = did_you_mean(name_or_file, names);
  if (hint.empty())
    hint = names.empty() ? fmt::format("searched in {}", fmt::join(profile_folders(), ", "))
                         : fmt::format("known are {}", fmt::join(names, ", "));
  return tl::unexpected(
      ProfileError{name_or_file, 0, 0, fmt::format("there is no {} of this name", called(kind)), hint});
}

tl::expected<std::string, ProfileError> find_base(std::string const& file, ProfileKind kind,
                                                  std::string const& base) {
  auto const folder = fs::path(file).parent_path();
  for (auto const& candidate : {folder / base, folder / (base + ".toml")})
    if (is_file(candidate.string())) return candidate.string();
  auto found = find_profile(kind, base);
  if (!found) found.error().message = fmt::format("the base '{}' was not found", base);
  return found;
}

tl::expected<Dialect, ProfileError> load_dialect(std::string const& name_or_file) {
  return load_named<Dialect>(ProfileKind::dialect, read_dialect, name_or_file);
}

tl::expected<motion::Machine, ProfileError> load_machine(std::string const& name_or_file) {
  return load_named<motion::Machine>(ProfileKind::machine, read_machine, name_or_file);
}

tl::expected<cutter::ToolTable, ProfileError> load_tools(std::string const& name_or_file) {
  return load<cutter::ToolTable>(ProfileKind::tools, read_tools, name_or_file);
}

std::vector<ProfileError> check_profile(std::string const& file) {
  std::vector<ProfileError> errors;
  toml::table table;
  if (!parse_profile(file, table, errors)) return errors;
  switch (kind_of(file, table)) {
  case ProfileKind::dialect: check<Dialect>(file, ProfileKind::dialect, read_dialect, errors); break;
  case ProfileKind::machine: check<motion::Machine>(file, ProfileKind::machine, read_machine, errors); break;
  case ProfileKind::tools: check<cutter::ToolTable>(file, ProfileKind::tools, read_tools, errors); break;
  }
  return errors;
}

} // namespace restep::dialect
