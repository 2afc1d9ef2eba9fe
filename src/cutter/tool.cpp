#include "cutter/tool.hpp"

#include "cutter/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>

namespace restep::cutter {

namespace {

constexpr std::array tool_kinds = {ToolKind::flat, ToolKind::ball, ToolKind::bull, ToolKind::drill,
                                   ToolKind::other};
constexpr std::array<std::string_view, 5> tool_names = {"flat", "ball", "bull", "drill", "other"};

/// mm; diameter and corner radius are written with a few digits each.
constexpr double same_length = 1e-6;

constexpr std::string_view tool_example = "write a tool as 'flat 6', 'ball 3', 'bull 3 r0.3' or 'drill 2.5'";

} // namespace

std::string_view name_of(ToolKind kind) {
  return tool_names[static_cast<std::size_t>(kind)];
}

bool Tool::can_finish() const {
  if (!(diameter > 0) || !(corner_radius >= 0) || !(taper >= 0 && taper < 90)) return false;
  switch (kind) {
  case ToolKind::flat: return corner_radius == 0 && taper == 0;
  case ToolKind::ball: return std::abs(corner_radius - radius()) <= same_length;
  case ToolKind::bull: return corner_radius > 0 && corner_radius <= radius() + same_length;
  case ToolKind::drill:
  case ToolKind::other: return false;
  }
  return false;
}

tl::expected<Tool, std::string> parse_tool(std::string_view text) {
  std::string_view rest = trimmed(text);
  if (rest.empty()) return tl::unexpected(fmt::format("the tool is empty; {}", tool_example));
  auto const is_letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
  std::size_t letters = 0;
  while (letters < rest.size() && is_letter(rest[letters]))
    ++letters;
  std::string const word = lower_case(rest.substr(0, letters));
  auto const* const found = std::find(tool_names.begin(), tool_names.end(), word);
  if (found == tool_names.end()) {
    std::string_view const near = nearest_word(word, tool_names);
    if (!near.empty())
      return tl::unexpected(fmt::format("'{}' is not a kind of tool; did you mean '{}'?", word, near));
    return tl::unexpected(fmt::format("'{}' does not begin with a kind of tool; {}", rest, tool_example));
  }
  rest.remove_prefix(letters);

  Tool tool;
  tool.kind = tool_kinds[static_cast<std::size_t>(found - tool_names.begin())];
  auto const diameter = take_length(rest, true);
  if (!diameter) return tl::unexpected(fmt::format("'{}': diameter: {}", text, diameter.error()));
  if (!(*diameter > 0)) return tl::unexpected(fmt::format("'{}': the diameter must be above 0", text));
  tool.diameter = *diameter;
  if (tool.kind == ToolKind::ball) tool.corner_radius = tool.radius();

  rest = trimmed(rest);
  bool const has_radius = !rest.empty() && (rest.front() == 'r' || rest.front() == 'R');
  if (tool.kind == ToolKind::bull && !has_radius)
    return tl::unexpected(fmt::format("'{}': a bull needs its corner radius: write 'bull {} r0.3'", text,
                                      plain_number(tool.diameter)));
  if (has_radius) {
    if (tool.kind != ToolKind::bull)
      return tl::unexpected(fmt::format("'{}': a corner radius belongs to a bull: write 'bull {} r...'", text,
                                        plain_number(tool.diameter)));
    rest.remove_prefix(1);
    auto const radius = take_length(rest, true);
    if (!radius) return tl::unexpected(fmt::format("'{}': corner radius: {}", text, radius.error()));
    if (!(*radius > 0))
      return tl::unexpected(fmt::format("'{}': the corner radius of a bull is above 0; write 'flat {}' for a "
                                        "sharp corner",
                                        text, plain_number(tool.diameter)));
    if (*radius > tool.radius() + same_length)
      return tl::unexpected(fmt::format("'{}': a corner radius of {} mm does not fit a diameter of {} mm",
                                        text, plain_number(*radius), plain_number(tool.diameter)));
    tool.corner_radius = std::min(*radius, tool.radius());
    if (tool.radius() - *radius <= same_length) {
      tool.kind = ToolKind::ball;
      tool.corner_radius = tool.radius();
    }
  }
  rest = trimmed(rest);
  if (!rest.empty())
    return tl::unexpected(fmt::format("'{}': '{}' is too much; {}", text, rest, tool_example));
  return tool;
}

std::string describe(Tool const& tool) {
  std::string text = fmt::format("{} {}", name_of(tool.kind), plain_number(tool.diameter));
  if (tool.kind == ToolKind::bull) text += fmt::format(" r{}", plain_number(tool.corner_radius));
  return text;
}

void ToolTable::add(Tool tool) {
  auto const same =
      std::find_if(tools_.begin(), tools_.end(), [&](Tool const& t) { return t.number == tool.number; });
  if (same != tools_.end())
    *same = std::move(tool);
  else
    tools_.push_back(std::move(tool));
}

Tool const* ToolTable::find(int number) const {
  auto const found =
      std::find_if(tools_.begin(), tools_.end(), [&](Tool const& t) { return t.number == number; });
  return found == tools_.end() ? nullptr : &*found;
}

} // namespace restep::cutter
