#include "dialect/profile_fields.hpp"

#include "dialect/nearest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <fstream>
#include <iterator>

namespace restep::dialect {
namespace {

std::string joined(std::vector<std::string> const& words) {
  return fmt::format("'{}'", fmt::join(words, "', '"));
}

bool read_list(toml::node const& node, std::string const& what, std::size_t size, double low, double high,
               double* target, ProfileErrors& errors) {
  auto const* list = node.as_array();
  if (list == nullptr || list->size() != size) {
    errors.add(node.source().begin,
               fmt::format("'{}' must be a list of {} numbers, found {}", what, size, describe(node)));
    return false;
  }
  bool good = true;
  for (std::size_t i = 0; i < size; ++i)
    good = read_number(*list->get(i), what, low, high, target[i], errors) && good;
  return good;
}

} // namespace

std::string describe(toml::node const& node) {
  if (auto const* text = node.as_string()) return fmt::format("the text \"{}\"", text->get());
  if (auto const* whole = node.as_integer()) return fmt::format("{}", whole->get());
  if (auto const* number = node.as_floating_point()) return fmt::format("{}", number->get());
  if (auto const* truth = node.as_boolean()) return truth->get() ? "true" : "false";
  if (auto const* list = node.as_array()) return fmt::format("a list of {}", list->size());
  if (node.is_table()) return "a section";
  return "a date or time";
}

namespace {

std::string quoted(std::string_view text) {
  std::string quoted = "\"";
  for (char const c : text) {
    if (c == '"' || c == '\\') quoted += '\\';
    if (static_cast<unsigned char>(c) < ' ')
      quoted += fmt::format("\\u{:04x}", static_cast<unsigned>(c));
    else
      quoted += c;
  }
  return quoted + '"';
}

bool is_bare_key(std::string_view key) {
  return !key.empty() && std::all_of(key.begin(), key.end(), [](char c) {
    return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '_' || c == '-';
  });
}

} // namespace

std::string as_toml(toml::node const& node) {
  if (auto const* text = node.as_string()) return quoted(text->get());
  std::vector<std::string> items;
  if (auto const* list = node.as_array()) {
    for (toml::node const& item : *list)
      items.push_back(as_toml(item));
    return fmt::format("[{}]", fmt::join(items, ", "));
  }
  if (auto const* table = node.as_table()) {
    for (auto const& [key, value] : *table) {
      std::string const name(key.str());
      items.push_back(fmt::format("{} = {}", is_bare_key(name) ? name : quoted(name), as_toml(value)));
    }
    return items.empty() ? "{}" : fmt::format("{{ {} }}", fmt::join(items, ", "));
  }
  return describe(node);
}

bool read_number(toml::node const& node, std::string const& what, double low, double high, double& target,
                 ProfileErrors& errors) {
  auto const value = node.is_number() ? node.value<double>() : std::nullopt;
  if (!value || !std::isfinite(*value) || *value < low || *value > high) {
    errors.add(node.source().begin,
               fmt::format("'{}' must be a number from {} to {}, found {}", what, low, high, describe(node)));
    return false;
  }
  target = *value;
  return true;
}

/// "[numbers]", or what the top is called.
std::string ProfileFields::place_of(std::string const& section) const {
  return section.empty() ? top_ : fmt::format("[{}]", section);
}

void ProfileFields::other(std::string section, std::string key,
                          std::function<void(toml::node const&, ProfileErrors&)> read) {
  fields_.push_back({std::move(section), std::move(key), std::move(read)});
}

void ProfileFields::flag(std::string section, std::string key, bool& target) {
  auto read = [&target, key](toml::node const& node, ProfileErrors& errors) {
    if (auto const* value = node.as_boolean()) {
      target = value->get();
    } else {
      errors.add(node.source().begin,
                 fmt::format("'{}' must be true or false, found {}", key, describe(node)));
    }
  };
  other(std::move(section), std::move(key), std::move(read));
}

void ProfileFields::integer(std::string section, std::string key, int& target, int low, int high) {
  auto read = [&target, key, low, high](toml::node const& node, ProfileErrors& errors) {
    auto const* value = node.as_integer();
    if (value != nullptr && value->get() >= low && value->get() <= high) {
      target = static_cast<int>(value->get());
    } else {
      errors.add(node.source().begin, fmt::format("'{}' must be a whole number from {} to {}, found {}", key,
                                                  low, high, describe(node)));
    }
  };
  other(std::move(section), std::move(key), std::move(read));
}

void ProfileFields::number(std::string section, std::string key, double& target, double low, double high) {
  auto read = [&target, key, low, high](toml::node const& node, ProfileErrors& errors) {
    read_number(node, key, low, high, target, errors);
  };
  other(std::move(section), std::move(key), std::move(read));
}

void ProfileFields::text(std::string section, std::string key, std::string& target) {
  auto read = [&target, key](toml::node const& node, ProfileErrors& errors) {
    if (auto const* value = node.as_string()) {
      target = value->get();
    } else {
      errors.add(node.source().begin, fmt::format("'{}' must be a text, found {}", key, describe(node)));
    }
  };
  other(std::move(section), std::move(key), std::move(read));
}

void ProfileFields::word(std::string section, std::string key, std::vector<std::string> names,
                         std::function<void(std::size_t)> set) {
  auto read = [key, names = std::move(names), set = std::move(set)](toml::node const& node,
                                                                    ProfileErrors& errors) {
    auto const* value = node.as_string();
    auto const found = value == nullptr ? names.end() : std::find(names.begin(), names.end(), value->get());
    if (found != names.end()) {
      set(static_cast<std::size_t>(found - names.begin()));
      return;
    }
    errors.add(node.source().begin,
               fmt::format("'{}' must be one of {}, found {}", key, joined(names), describe(node)),
               value == nullptr ? std::string{} : did_you_mean(value->get(), names));
  };
  other(std::move(section), std::move(key), std::move(read));
}

void ProfileFields::axes(std::string section, std::string key, std::function<void(geometry::Vec3)> set,
                         double low, double high) {
  auto read = [set = std::move(set), key, low, high](toml::node const& node, ProfileErrors& errors) {
    std::array<double, 3> values{};
    if (read_list(node, key, values.size(), low, high, values.data(), errors))
      set({values[0], values[1], values[2]});
  };
  other(std::move(section), std::move(key), std::move(read));
}

void ProfileFields::range(std::string section, std::string key, double& least, double& most, double low,
                          double high) {
  auto read = [&least, &most, key, low, high](toml::node const& node, ProfileErrors& errors) {
    std::array<double, 2> values{};
    if (!read_list(node, key, values.size(), low, high, values.data(), errors)) return;
    if (values[0] > values[1]) {
      errors.add(node.source().begin,
                 fmt::format("'{}' is [least, most], but {} is more than {}", key, values[0], values[1]));
      return;
    }
    least = values[0];
    most = values[1];
  };
  other(std::move(section), std::move(key), std::move(read));
}

void ProfileFields::codes(std::string section, std::string key, std::vector<int>& target, int parts,
                          double low, double high) {
  auto read = [&target, key, parts, low, high](toml::node const& node, ProfileErrors& errors) {
    auto const* list = node.as_array();
    if (list == nullptr) {
      errors.add(node.source().begin,
                 fmt::format("'{}' must be a list of code numbers, found {}", key, describe(node)));
      return;
    }
    std::vector<int> codes;
    for (auto const& item : *list) {
      double code = 0;
      if (!read_number(item, key, low, high, code, errors)) continue;
      double const scaled = std::round(code * parts);
      if (std::abs(scaled - code * parts) > 1e-6) {
        errors.add(item.source().begin, fmt::format("'{}': {} is not a code", key, code));
        continue;
      }
      codes.push_back(static_cast<int>(scaled));
    }
    target = std::move(codes);
  };
  other(std::move(section), std::move(key), std::move(read));
}

void ProfileFields::read_key(std::string const& section, toml::key const& key, toml::node const& value,
                             ProfileErrors& errors) {
  auto const field = std::find_if(fields_.begin(), fields_.end(),
                                  [&](Field const& f) { return f.section == section && f.key == key.str(); });
  if (field != fields_.end()) {
    seen_[{section, field->key}] = key.source().begin;
    if (errors.trace != nullptr)
      errors.trace->given(section, field->key, as_toml(value),
                          static_cast<std::uint32_t>(key.source().begin.line));
    field->read(value, errors);
    return;
  }
  std::vector<std::string> here;
  for (auto const& f : fields_) {
    if (f.section == section) here.push_back(f.key);
    if (f.key == key.str()) {
      errors.add(key.source().begin, fmt::format("'{}' does not belong in {}", f.key, place_of(section)),
                 fmt::format("it belongs in {}", place_of(f.section)));
      return;
    }
  }
  errors.add(key.source().begin, fmt::format("unknown key '{}' in {}", key.str(), place_of(section)),
             did_you_mean(key.str(), here));
}

void ProfileFields::read_section(std::string const& section, toml::table const& table,
                                 ProfileErrors& errors) {
  for (auto const& [key, value] : table)
    read_key(section, key, value, errors);
}

void ProfileFields::read(toml::table const& table, ProfileErrors& errors,
                         std::initializer_list<std::string_view> elsewhere) {
  seen_.clear();
  if (errors.trace != nullptr)
    for (auto const& field : fields_)
      errors.trace->known(field.section, field.key);
  std::vector<std::string> sections;
  for (auto const& field : fields_)
    if (!field.section.empty()) sections.push_back(field.section);
  for (auto const& [key, value] : table) {
    std::string_view const name = key.str();
    if (name == "profile" || name == "base" || name == "title") continue;
    if (std::find(elsewhere.begin(), elsewhere.end(), name) != elsewhere.end()) continue;
    if (!value.is_table()) {
      read_key("", key, value, errors);
    } else if (std::find(sections.begin(), sections.end(), name) != sections.end()) {
      read_section(std::string(name), *value.as_table(), errors);
    } else {
      errors.add(key.source().begin, fmt::format("unknown section [{}]", name), did_you_mean(name, sections));
    }
  }
}

bool ProfileFields::given(std::string const& section, std::string const& key) const {
  return seen_.contains({section, key});
}

toml::source_position ProfileFields::where(std::string const& section, std::string const& key) const {
  auto const found = seen_.find({section, key});
  return found == seen_.end() ? toml::source_position{1, 1} : found->second;
}

bool parse_profile(std::string const& file, toml::table& table, std::vector<ProfileError>& errors) {
  std::ifstream stream(file, std::ios::binary);
  std::string content{std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
  if (!stream) {
    errors.push_back({file, 0, 0, "cannot be read", ""});
    return false;
  }
  try {
    table = toml::parse(std::string_view{content}, std::string_view{file});
    return true;
  } catch (toml::parse_error const& error) {
    auto const at = error.source().begin;
    errors.push_back({file, static_cast<std::uint32_t>(at.line), static_cast<std::uint32_t>(at.column),
                      fmt::format("not TOML: {}", error.description()),
                      "a key is written as in: decimals_mm = 4"});
    return false;
  }
}

std::string_view word_for(ProfileKind kind) {
  return kind == ProfileKind::dialect ? "dialect" : kind == ProfileKind::machine ? "machine" : "tools";
}

namespace {

std::string read_top_text(toml::table const& table, std::string_view key, ProfileErrors& errors) {
  auto const* node = table.get(key);
  if (node == nullptr) return {};
  if (auto const* text = node->as_string()) return text->get();
  errors.add(node->source().begin, fmt::format("'{}' must be a text, found {}", key, describe(*node)));
  return {};
}

} // namespace

ProfileHead read_head(toml::table const& table, ProfileKind kind, ProfileErrors& errors) {
  ProfileHead head;
  if (auto const word = read_top_text(table, "profile", errors); !word.empty() && word != word_for(kind)) {
    errors.add(table.get("profile")->source().begin,
               fmt::format("this is a profile of '{}', wanted '{}'", word, word_for(kind)),
               did_you_mean(word, std::array<std::string, 3>{"dialect", "machine", "tools"}));
  }
  head.base = read_top_text(table, "base", errors);
  if (auto const* node = table.get("base")) head.base_at = node->source().begin;
  head.title = read_top_text(table, "title", errors);
  return head;
}

} // namespace restep::dialect
