// May this machine run this program at all? Where the part sits on the table is not in the program, so what
// can be judged of the travel is its span: from the lowest to the highest point of each axis, cuts and rapids
// together.

#include "transform/checks.hpp"

#include "transform/wording.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace restep::transform {
namespace {

using motion::Units;

struct Extreme {
  double at;
  std::uint32_t line;
};

Extreme lowest(motion::Survey const& survey, int axis) {
  double const cut = survey.cutting.low[axis], rapid = survey.rapids.low[axis];
  return rapid < cut ? Extreme{rapid, survey.rapids.low_line[axis]}
                     : Extreme{cut, survey.cutting.low_line[axis]};
}

Extreme highest(motion::Survey const& survey, int axis) {
  double const cut = survey.cutting.high[axis], rapid = survey.rapids.high[axis];
  return rapid > cut ? Extreme{rapid, survey.rapids.high_line[axis]}
                     : Extreme{cut, survey.cutting.high_line[axis]};
}

void check_travel(Context& context) {
  motion::Machine const& machine = context.machine;
  for (int axis = 0; axis < 3; ++axis) {
    double travel = machine.travel[axis];
    if (travel <= 0 && machine.travel_min && machine.travel_max)
      travel = (*machine.travel_max)[axis] - (*machine.travel_min)[axis];
    if (travel <= 0) continue;
    Extreme const low = lowest(context.survey, axis), high = highest(context.survey, axis);
    double const span = high.at - low.at;
    if (!std::isfinite(span) || span <= travel + context.resolution.length / 2) continue;
    // The end farther from the program's zero is the one that reaches furthest.
    Extreme const furthest = std::abs(low.at) > std::abs(high.at) ? low : high;
    char const name = static_cast<char>('X' + axis);
    text::Place place;
    place.line = furthest.line;
    context.findings.add(
        text::Severity::error, "travel-exceeded",
        fmt::format("{0} travels {1}, from {0}{2} (line {3}) to {0}{4} (line {5}); the machine has {6}", name,
                    length_words(span, Units::mm), length_words(low.at, Units::mm), low.line,
                    length_words(high.at, Units::mm), high.line, length_words(travel, Units::mm)),
        "turn or split the part, or take a machine with more travel", place);
  }
}

void check_tool(Context& context, int number) {
  motion::Machine const& machine = context.machine;
  if (number == 0) return; // the empty spindle
  cutter::Tool const* tool = context.tools.find(number);
  if (!tool) {
    context.findings.add(
        text::Severity::warning, "tool-missing", fmt::format("T{} is used but not in the tool table", number),
        fmt::format("add it to the tool table, or give --tool 'T{} = ...'", number), text::Place{});
    return;
  }
  if (machine.max_tool_diameter > 0 && tool->diameter > machine.max_tool_diameter)
    context.findings.add(text::Severity::error, "tool-too-large",
                         fmt::format("T{} ({}) has a diameter of {}; the machine takes {} at most", number,
                                     cutter::describe(*tool), length_words(tool->diameter, Units::mm),
                                     length_words(machine.max_tool_diameter, Units::mm)),
                         "take a smaller tool, or another machine", text::Place{});
  if (tool->diameter <= 0) return;
  // vc = pi D n / 1000, vc in m/min, D in mm
  auto const speed_for = [&](double vc) { return 1000 * vc / (std::numbers::pi * tool->diameter); };
  if (tool->cutting_speed_min > 0 && machine.spindle_max > 0 &&
      speed_for(tool->cutting_speed_min) > machine.spindle_max)
    context.findings.add(text::Severity::warning, "spindle-range",
                         fmt::format("T{} ({}) wants at least {} for {} m/min; the spindle reaches {}",
                                     number, cutter::describe(*tool),
                                     spindle_words(speed_for(tool->cutting_speed_min)),
                                     tool->cutting_speed_min, spindle_words(machine.spindle_max)),
                         "expect a poorer surface, or take a larger tool", text::Place{});
  if (tool->cutting_speed_max > 0 && speed_for(tool->cutting_speed_max) < machine.spindle_min)
    context.findings.add(
        text::Severity::warning, "spindle-range",
        fmt::format("T{} ({}) bears {} at most for {} m/min; the spindle turns no slower than {}", number,
                    cutter::describe(*tool), spindle_words(speed_for(tool->cutting_speed_max)),
                    tool->cutting_speed_max, spindle_words(machine.spindle_min)),
        "take a smaller tool, or another machine", text::Place{});
}

} // namespace

void check_limits(Context& context) {
  check_travel(context);
  for (int number : context.survey.tools)
    check_tool(context, number);
}

} // namespace restep::transform
