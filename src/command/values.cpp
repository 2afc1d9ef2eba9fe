#include "command/values.hpp"

#include "motion/work_offset.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <optional>

namespace restep::command {

namespace {

struct Unit {
  std::string_view name;
  double millimetres;
};
constexpr Unit units[] = {{"um", 0.001}, {"mm", 1}, {"in", 25.4}, {"uin", 25.4e-6}};

/// The number at the start of the text, which is moved behind it.
std::optional<double> take_number(std::string_view& text) {
  double value = 0;
  auto const [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || !std::isfinite(value)) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return value;
}

std::optional<std::size_t> whole_number(std::string_view text) {
  std::size_t value = 0;
  auto const [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

} // namespace

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blanks = " \t\r\n";
  std::size_t const begin = text.find_first_not_of(blanks);
  if (begin == std::string_view::npos) return {};
  return text.substr(begin, text.find_last_not_of(blanks) - begin + 1);
}

Expected<double> parse_length(std::string_view text) {
  std::string_view rest = trimmed(text);
  auto const number = take_number(rest);
  if (!number || *number < 0) {
    return wrong_usage(fmt::format("expected a length such as 0.02mm, found '{}'", text),
                       "units are um, mm, in and uin");
  }
  rest = trimmed(rest);
  auto const unit = std::find_if(std::begin(units), std::end(units),
                                 [&](Unit const& candidate) { return candidate.name == rest; });
  if (unit == std::end(units)) {
    return wrong_usage(rest.empty() ? fmt::format("the length '{}' has no unit", text)
                                    : fmt::format("the length '{}' has an unknown unit '{}'", text, rest),
                       fmt::format("write {0}mm, {0}um, {0}in or {0}uin", *number));
  }
  return *number * unit->millimetres;
}

Expected<double> parse_angle(std::string_view text) {
  std::string_view rest = trimmed(text);
  auto const number = take_number(rest);
  rest = trimmed(rest);
  if (!number || (!rest.empty() && rest != "deg"))
    return wrong_usage(fmt::format("expected an angle such as 3deg, found '{}'", text));
  return *number;
}

Expected<std::vector<std::size_t>> parse_pass_list(std::string_view text) {
  constexpr std::size_t most = 100'000;
  std::vector<std::size_t> numbers;
  std::string_view rest = text;
  while (true) {
    std::size_t const comma = rest.find(',');
    std::string_view const item = trimmed(rest.substr(0, comma));
    std::size_t const dash = item.find('-');
    auto const first = whole_number(trimmed(item.substr(0, dash)));
    auto const last = dash == std::string_view::npos ? first : whole_number(trimmed(item.substr(dash + 1)));
    if (!first || !last || *first == 0 || *last < *first || *last > most) {
      return wrong_usage(fmt::format("expected pass numbers such as 1,3-5, found '{}'", text),
                         "passes are numbered from 1, as inspect shows them");
    }
    for (std::size_t number = *first; number <= *last; ++number)
      numbers.push_back(number);
    if (comma == std::string_view::npos) break;
    rest.remove_prefix(comma + 1);
  }
  std::sort(numbers.begin(), numbers.end());
  numbers.erase(std::unique(numbers.begin(), numbers.end()), numbers.end());
  return numbers;
}

Expected<cutter::Tool> parse_numbered_tool(std::string_view text) {
  std::size_t const equals = text.find('=');
  std::string_view const name = trimmed(text.substr(0, equals));
  std::optional<std::size_t> number;
  if (name.size() > 1 && (name.front() == 'T' || name.front() == 't')) number = whole_number(name.substr(1));
  if (equals == std::string_view::npos || !number || *number > 99999)
    return wrong_usage(fmt::format("expected a tool such as 'T3 = bull 3 r0.3', found '{}'", text));
  auto tool = cutter::parse_tool(trimmed(text.substr(equals + 1)));
  if (!tool) return wrong_usage(fmt::format("tool '{}': {}", text, tool.error()));
  tool->number = static_cast<int>(*number);
  return *tool;
}

int work_offset_number(std::string_view name) {
  constexpr int last = motion::standard_work_offsets + motion::most_further_work_offsets;
  for (int system = 1; system <= last; ++system)
    if (motion::work_offset_name(system) == name) return system;
  return 0;
}

Expected<motion::Vec3> parse_axes(std::string_view text) {
  motion::Vec3 values = motion::unknown_position;
  std::string_view rest = trimmed(text);
  if (rest.empty()) return wrong_usage("it names no axis");
  while (!rest.empty()) {
    int const axis = std::toupper(static_cast<unsigned char>(rest.front())) - 'X';
    if (axis < 0 || axis > 2) return wrong_usage(fmt::format("'{}' does not begin with X, Y or Z", rest));
    if (motion::is_known(values[axis])) return wrong_usage(fmt::format("{} is given twice", "XYZ"[axis]));
    rest = trimmed(rest.substr(1));
    auto const number = take_number(rest);
    if (!number) return wrong_usage(fmt::format("{} has no number", "XYZ"[axis]));
    double scale = 1;
    for (Unit const& unit : units) {
      if (!rest.starts_with(unit.name)) continue;
      scale = unit.millimetres;
      rest.remove_prefix(unit.name.size());
      break;
    }
    values[axis] = *number * scale;
    rest = trimmed(rest);
  }
  return values;
}

Expected<OffsetValue> parse_offset(std::string_view text) {
  auto const refuse = [text](std::string const& what, std::string const& hint = {}) {
    return wrong_usage(fmt::format("offset '{}': {}", text, what),
                       hint.empty() ? "write 'G54 = X120 Y80 Z-150', machine coordinates in mm" : hint);
  };
  std::size_t const equals = text.find('=');
  if (equals == std::string_view::npos) return refuse("no '=' between the work offset and its place");
  std::string name(trimmed(text.substr(0, equals)));
  for (char& c : name)
    c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  OffsetValue offset;
  offset.system = work_offset_number(name);
  if (offset.system == 0)
    return refuse(fmt::format("'{}' is not a work offset", name),
                  "they are G54 ... G59, G59.1 ... G59.3 and G54.1 P1 ...");
  auto const origin = parse_axes(text.substr(equals + 1));
  if (!origin) return refuse(origin.error().message);
  offset.origin = *origin;
  return offset;
}

} // namespace restep::command
