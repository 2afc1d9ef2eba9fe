#include "dialect/profile_fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>
#include <vector>

namespace restep::dialect {
namespace {

/// What one [[tool]] says.
struct ToolEntry {
  cutter::Tool tool;
  std::string shape;
};

void check_tool(ProfileFields const& fields, ToolEntry const& entry, ProfileErrors& errors) {
  auto const& tool = entry.tool;
  if (tool.overhang > 0 && tool.flute_length > tool.overhang)
    errors.add(fields.where("", "flute_length"),
               fmt::format("tool {}: the flutes ({} mm) are longer than the tool stands out ({} mm)",
                           tool.number, tool.flute_length, tool.overhang));
  if (tool.length > 0 && tool.overhang > tool.length)
    errors.add(
        fields.where("", "length"),
        fmt::format("tool {}: it stands out of its holder further ({} mm) than its whole length ({} mm)",
                    tool.number, tool.overhang, tool.length));
  if (tool.max_stepover > tool.diameter)
    errors.add(fields.where("", "max_stepover"),
               fmt::format("tool {}: a stepover of {} mm is more than the diameter, {} mm", tool.number,
                           tool.max_stepover, tool.diameter));
}

bool read_tool(toml::table const& table, cutter::Tool& result, ProfileErrors& errors) {
  ToolEntry entry;
  ProfileFields fields("[[tool]]");
  fields.integer("", "number", entry.tool.number, 0, 99999);
  fields.text("", "name", entry.tool.name);
  fields.text("", "shape", entry.shape);
  fields.number("", "taper", entry.tool.taper, 0, 89);
  fields.integer("", "flutes", entry.tool.flutes, 0, 100);
  fields.number("", "flute_length", entry.tool.flute_length, 0, 1000);
  fields.number("", "overhang", entry.tool.overhang, 0, 1000);
  fields.number("", "length", entry.tool.length, 0, 2000);
  fields.range("", "cutting_speed", entry.tool.cutting_speed_min, entry.tool.cutting_speed_max, 0, 10'000);
  fields.range("", "chip_load", entry.tool.chip_load_min, entry.tool.chip_load_max, 0, 10);
  fields.number("", "max_stepdown", entry.tool.max_stepdown, 0, 1000);
  fields.number("", "max_stepover", entry.tool.max_stepover, 0, 1000);

  auto const before = errors.all.size();
  fields.read(table, errors);
  if (errors.all.size() != before) return false;
  for (auto const* key : {"number", "shape"}) {
    if (fields.given("", key)) continue;
    errors.add(table.source().begin, fmt::format("a tool without '{}'", key),
               "for example number = 3, shape = \"bull 3 r0.3\"");
    return false;
  }
  auto shape = cutter::parse_tool(entry.shape);
  if (!shape) {
    errors.add(fields.where("", "shape"), fmt::format("tool {}: {}", entry.tool.number, shape.error()));
    return false;
  }
  entry.tool.kind = shape->kind;
  entry.tool.diameter = shape->diameter;
  entry.tool.corner_radius = shape->corner_radius;
  check_tool(fields, entry, errors);
  result = entry.tool;
  return errors.all.size() == before;
}

void trace_tool(toml::table const& entry, int number, ProfileTrace& trace) {
  std::string const section = fmt::format("tool {}", number);
  trace.forget(section);
  std::vector<std::pair<toml::key, toml::node const*>> keys;
  for (auto const& [key, value] : entry)
    keys.emplace_back(key, &value);
  std::sort(keys.begin(), keys.end(), [](auto const& a, auto const& b) {
    return a.first.source().begin.line < b.first.source().begin.line;
  });
  for (auto const& [key, value] : keys)
    trace.given(section, std::string(key.str()), as_toml(*value),
                static_cast<std::uint32_t>(key.source().begin.line));
}

} // namespace

void read_tools(toml::table const& table, cutter::ToolTable& tools, ProfileErrors& errors) {
  ProfileFields none;
  none.read(table, errors, {"tool"});
  auto const* node = table.get("tool");
  auto const* list = node == nullptr ? nullptr : node->as_array();
  if (list == nullptr) {
    errors.add(node == nullptr ? toml::source_position{1, 1} : node->source().begin,
               "a tool table is a list of [[tool]] entries", "begin each tool with a line [[tool]]");
    return;
  }
  std::map<int, toml::source_position> seen;
  for (auto const& item : *list) {
    auto const* entry = item.as_table();
    if (entry == nullptr) {
      errors.add(item.source().begin,
                 fmt::format("a tool must be a [[tool]] entry, found {}", describe(item)));
      continue;
    }
    cutter::Tool tool;
    ProfileErrors untraced{errors.file, errors.all};
    if (!read_tool(*entry, tool, untraced)) continue;
    auto const [first, is_new] = seen.emplace(tool.number, item.source().begin);
    if (!is_new) {
      errors.add(item.source().begin,
                 fmt::format("tool {} is listed twice, first in line {}", tool.number, first->second.line));
      continue;
    }
    tools.add(tool);
    if (errors.trace != nullptr) trace_tool(*entry, tool.number, *errors.trace);
  }
}

} // namespace restep::dialect
