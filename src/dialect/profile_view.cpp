#include "dialect/profile_view.hpp"

#include "dialect/profile_fields.hpp"

#include <algorithm>
#include <fstream>

namespace restep::dialect {

namespace {

/// Where a remark begins in a line of TOML: a "#" that does not stand in a text.
std::size_t remark_begin(std::string const& line) {
  char quote = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    char const c = line[i];
    if (quote != 0) {
      if (c == '\\' && quote == '"') {
        ++i;
      } else if (c == quote) {
        quote = 0;
      }
    } else if (c == '"' || c == '\'') {
      quote = c;
    } else if (c == '#') {
      return i;
    }
  }
  return std::string::npos;
}

std::string without_blanks(std::string_view text) {
  std::size_t const begin = text.find_first_not_of(" \t\r#");
  if (begin == std::string_view::npos) return {};
  return std::string(text.substr(begin, text.find_last_not_of(" \t\r") + 1 - begin));
}

/// "{ a = 1 }" and "{ b = 2 }" as one; what is no inline table is replaced.
std::string merged(std::string const& before, std::string const& after) {
  if (!before.starts_with('{') || !after.starts_with('{')) return after;
  toml::table both = toml::parse("v = " + before), more = toml::parse("v = " + after);
  toml::table& target = *both["v"].as_table();
  for (auto const& [key, value] : *more["v"].as_table())
    target.insert_or_assign(key, value);
  return as_toml(target);
}

template <typename Object>
void view_as(std::string const& file, ProfileFileReader<Object> reader, ProfileView& view) {
  Object object;
  ProfileTrace trace(view);
  read_profile(file, view.kind, object, reader, view.files, view.errors, &trace);
}

} // namespace

void ProfileTrace::file(std::string const& name) {
  file_ = name;
  lines_.clear();
  std::ifstream stream(name, std::ios::binary);
  for (std::string line; std::getline(stream, line);)
    lines_.push_back(line);
}

ProfileValue& ProfileTrace::entry(std::string const& section, std::string const& key) {
  auto& values = view_.values;
  auto const found = std::find_if(values.begin(), values.end(), [&](ProfileValue const& value) {
    return value.section == section && value.key == key;
  });
  if (found != values.end()) return *found;
  // Keys of one section stay together, whenever they come to be known.
  auto const last = std::find_if(values.rbegin(), values.rend(),
                                 [&](ProfileValue const& value) { return value.section == section; });
  return *values.insert(last == values.rend() ? values.end() : last.base(), {section, key, {}, {}, 0, {}});
}

void ProfileTrace::known(std::string const& section, std::string const& key) {
  entry(section, key);
}

void ProfileTrace::given(std::string const& section, std::string const& key, std::string const& value,
                         std::uint32_t line) {
  ProfileValue& to = entry(section, key);
  to.value = merged(to.value, value);
  to.file = file_;
  to.line = line;
  if (std::string remark = remark_at(line); !remark.empty()) to.remark = std::move(remark);
}

void ProfileTrace::forget(std::string const& section) {
  std::erase_if(view_.values, [&](ProfileValue const& value) { return value.section == section; });
}

/// What stands behind the value, and the remarks under it in the same column.
std::string ProfileTrace::remark_at(std::uint32_t line) const {
  if (line == 0 || line > lines_.size()) return {};
  std::string const& own = lines_[line - 1];
  std::size_t const column = remark_begin(own);
  if (column == std::string::npos) return {};
  std::string remark = without_blanks(std::string_view(own).substr(column));
  for (std::size_t i = line; i < lines_.size(); ++i) {
    std::size_t const first = lines_[i].find_first_not_of(" \t");
    if (first == std::string::npos || first != column || lines_[i][first] != '#') break;
    remark += ' ' + without_blanks(std::string_view(lines_[i]).substr(first));
  }
  return remark;
}

tl::expected<ProfileView, ProfileError> view_profile(ProfileKind kind, std::string const& name_or_file) {
  auto const file = find_profile(kind, name_or_file);
  if (!file) return tl::unexpected(file.error());
  ProfileView view;
  view.kind = kind;
  view.name = profile_name(*file);
  toml::table table;
  if (!parse_profile(*file, table, view.errors)) return tl::unexpected(view.errors.front());
  view.title = table["title"].value_or(std::string{});
  switch (kind) {
  case ProfileKind::dialect: view_as<Dialect>(*file, read_dialect, view); break;
  case ProfileKind::machine: view_as<motion::Machine>(*file, read_machine, view); break;
  case ProfileKind::tools: view_as<cutter::ToolTable>(*file, read_tools, view); break;
  }
  return view;
}

} // namespace restep::dialect
