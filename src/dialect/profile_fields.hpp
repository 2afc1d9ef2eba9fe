#pragma once

#include "dialect/profile.hpp"
#include "dialect/profile_view.hpp"
#include "geometry/vec.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <functional>
#include <initializer_list>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace restep::dialect {

/// Collects what is wrong with one profile file.
struct ProfileErrors {
  std::string file;
  std::vector<ProfileError>& all;
  ProfileTrace* trace = nullptr; ///< who wants to know what is read, or null

  void add(toml::source_position at, std::string message, std::string hint = {}) {
    all.push_back({file, static_cast<std::uint32_t>(at.line), static_cast<std::uint32_t>(at.column),
                   std::move(message), std::move(hint)});
  }
};

/// The keys of a profile, each bound to the place its value goes. Reading a table puts values there and
/// reports every unknown key, wrong type and value out of range at its line and column.
class ProfileFields {
public:
  /// `top` says in messages where keys outside every section stand.
  explicit ProfileFields(std::string top = "the file's top")
      : top_(std::move(top)) {}

  void flag(std::string section, std::string key, bool& target);
  void integer(std::string section, std::string key, int& target, int low, int high);
  void number(std::string section, std::string key, double& target, double low, double high);
  void text(std::string section, std::string key, std::string& target);
  /// One of a few words.
  template <typename Enum>
  // NOLINTNEXTLINE(performance-unnecessary-value-param): both are moved from, which is not seen in a template
  void choice(std::string section, std::string key, Enum& target,
              std::initializer_list<std::pair<std::string_view, Enum>> choices) {
    std::vector<std::string> names;
    std::vector<Enum> values;
    for (auto const& [name, value] : choices) {
      names.emplace_back(name);
      values.push_back(value);
    }
    word(std::move(section), std::move(key), std::move(names),
         [&target, values](std::size_t index) { target = values[index]; });
  }
  /// One value per axis, [X, Y, Z].
  void axes(std::string section, std::string key, std::function<void(geometry::Vec3)> set, double low,
            double high);
  /// [least, most]
  void range(std::string section, std::string key, double& least, double& most, double low, double high);
  /// A list of codes such as [81, 38.2], kept in `parts` of a whole number (10: tenths).
  void codes(std::string section, std::string key, std::vector<int>& target, int parts, double low,
             double high);
  /// A key with a reading of its own.
  void other(std::string section, std::string key,
             std::function<void(toml::node const&, ProfileErrors&)> read);

  /// Reads all of `table` but the keys `profile`, `base` and `title` and those in `elsewhere`.
  void read(toml::table const& table, ProfileErrors& errors,
            std::initializer_list<std::string_view> elsewhere = {});

  /// The key stood in the table last read.
  bool given(std::string const& section, std::string const& key) const;
  /// Where it stood; the start of the file when it did not.
  toml::source_position where(std::string const& section, std::string const& key) const;

private:
  struct Field {
    std::string section, key;
    std::function<void(toml::node const&, ProfileErrors&)> read;
  };
  std::string top_;
  std::vector<Field> fields_;
  std::map<std::pair<std::string, std::string>, toml::source_position> seen_;

  std::string place_of(std::string const& section) const;
  void word(std::string section, std::string key, std::vector<std::string> names,
            std::function<void(std::size_t)> set);
  void read_section(std::string const& section, toml::table const& table, ProfileErrors& errors);
  void read_key(std::string const& section, toml::key const& key, toml::node const& value,
                ProfileErrors& errors);
};

/// "text \"four\"", "the number 3.5", "true", "a table" ...: what stands there instead of what was wanted.
std::string describe(toml::node const& node);

/// A value as it could stand in a profile.
std::string as_toml(toml::node const& node);

/// Reads a number (whole or not) within a range, reporting it under `what`.
bool read_number(toml::node const& node, std::string const& what, double low, double high, double& target,
                 ProfileErrors& errors);

/// Parses the file; false when it cannot be read or is not TOML.
bool parse_profile(std::string const& file, toml::table& table, std::vector<ProfileError>& errors);

/// Reads one file of a kind into an object that holds the base's values already (or the defaults).
template <typename Object>
using ProfileFileReader = void (*)(toml::table const&, Object&, ProfileErrors&);

/// The keys every profile has: checks `profile` and gives `base` and `title`.
struct ProfileHead {
  std::string base, title;
  toml::source_position base_at;
};
ProfileHead read_head(toml::table const& table, ProfileKind kind, ProfileErrors& errors);

/// The file `base` stands for: beside the file itself first, then in the profile folders.
tl::expected<std::string, ProfileError> find_base(std::string const& file, ProfileKind kind,
                                                  std::string const& base);

/// Reads a profile file upon its bases.
template <typename Object>
void read_profile(std::string const& file, ProfileKind kind, Object& object, ProfileFileReader<Object> reader,
                  std::vector<std::string>& chain, std::vector<ProfileError>& all,
                  ProfileTrace* trace = nullptr) {
  toml::table table;
  if (!parse_profile(file, table, all)) return;
  ProfileErrors errors{file, all, trace};
  auto const head = read_head(table, kind, errors);
  chain.push_back(file);
  if (!head.base.empty()) {
    auto base = find_base(file, kind, head.base);
    if (!base) {
      errors.add(head.base_at, base.error().message, base.error().hint);
    } else if (std::find(chain.begin(), chain.end(), *base) != chain.end()) {
      errors.add(head.base_at, "'base' leads back to this file", "a profile cannot be based on itself");
    } else {
      read_profile(*base, kind, object, reader, chain, all, trace);
    }
  }
  if (trace != nullptr) trace->file(file);
  reader(table, object, errors);
}

void read_dialect(toml::table const& table, Dialect& dialect, ProfileErrors& errors);
void read_machine(toml::table const& table, motion::Machine& machine, ProfileErrors& errors);
void read_tools(toml::table const& table, cutter::ToolTable& tools, ProfileErrors& errors);

/// The file's name without folder and ".toml".
std::string profile_name(std::string const& file);

} // namespace restep::dialect
