// May this machine run this program at all? Where the part sits on the table is not in the program. With the
// job's work offsets the travel is judged exactly, in machine coordinates; without them what can be judged is
// its span: from the lowest to the highest point of each axis, cuts and rapids together.

#include "transform/checks.hpp"

#include "motion/work_offset.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

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

/// One end of an axis's reach in machine coordinates against the end of the travel. `where` names what the
/// program says there.
void check_end(Context& context, int axis, bool upper, double at, std::uint32_t line,
               std::string const& where) {
  double const end = upper ? (*context.machine.travel_max)[axis] : (*context.machine.travel_min)[axis];
  double const beyond = upper ? at - end : end - at;
  if (!(beyond > context.resolution.length / 2) || !std::isfinite(beyond)) return;
  text::Place place;
  place.line = line;
  context.findings.add(
      text::Severity::error, "travel-exceeded",
      fmt::format("{} goes to {} in machine coordinates ({}); the machine ends at {}, {} before", "XYZ"[axis],
                  length_words(at, Units::mm), where, length_words(end, Units::mm),
                  length_words(beyond, Units::mm)),
      "move the part, and its work offset in the job with it, or take a machine with more travel", place);
}

/// How far the gauge line stands above the tip under G43 with this H, mm; 0 without one, NaN when not known.
double length_of(Context const& context, int index) {
  if (index == 0) return 0;
  if (auto const said = context.setting.lengths.find(index); said != context.setting.lengths.end())
    return said->second;
  cutter::Tool const* tool = context.tools.find(index);
  return tool && tool->length > 0 ? tool->length : motion::unknown;
}

/// Where the zero of an axis lies on the machine; NaN when the job does not tell. The machine's Z is the
/// gauge line's: work offset and tool length on top of what the program says (NISTIR 6556, 3.5.11).
double origin_of(Context const& context, motion::SystemReach const& one, int axis) {
  auto const offset = context.setting.offsets.find(one.system);
  if (offset == context.setting.offsets.end()) return motion::unknown;
  return offset->second[axis] + (axis == 2 ? length_of(context, one.length) : 0);
}

/// True when every motion of this axis has a known place on the machine.
bool placed(Context const& context, int axis) {
  motion::Survey const& survey = context.survey;
  if (!context.machine.travel_min || !context.machine.travel_max || survey.shifted) return false;
  return std::all_of(survey.systems.begin(), survey.systems.end(), [&](motion::SystemReach const& one) {
    bool const still = one.reach.low[axis] > one.reach.high[axis];
    return still || motion::is_known(origin_of(context, one, axis));
  });
}

void check_exact_travel(Context& context, int axis) {
  for (motion::SystemReach const& one : context.survey.systems) {
    double const origin = origin_of(context, one, axis);
    auto const where = [&](double at) {
      std::string const length = axis == 2 && one.length != 0 ? fmt::format(" with H{}", one.length) : "";
      return fmt::format("{}{} in {}{}", "XYZ"[axis], length_words(at, Units::mm),
                         motion::work_offset_name(one.system), length);
    };
    check_end(context, axis, false, origin + one.reach.low[axis], one.reach.low_line[axis],
              where(one.reach.low[axis]));
    check_end(context, axis, true, origin + one.reach.high[axis], one.reach.high_line[axis],
              where(one.reach.high[axis]));
  }
}

void check_machine_moves(Context& context) {
  if (!context.machine.travel_min || !context.machine.travel_max) return;
  motion::Reach const& reach = context.survey.machine;
  for (int axis = 0; axis < 3; ++axis) {
    check_end(context, axis, false, reach.low[axis], reach.low_line[axis], "G53");
    check_end(context, axis, true, reach.high[axis], reach.high_line[axis], "G53");
  }
}

void leave_unproven(Context& context, std::string what, std::string hint, std::uint32_t line) {
  text::Place place;
  place.line = line;
  context.findings.add(text::Severity::warning, "travel-unproven",
                       std::move(what) + ": only the span of the travel can be judged", std::move(hint),
                       place);
}

/// What keeps the travel from being judged exactly although offsets were given.
void check_offsets(Context& context) {
  if (context.setting.offsets.empty()) return;
  std::set<int> systems, lengths;
  for (motion::SystemReach const& one : context.survey.systems) {
    auto const offset = context.setting.offsets.find(one.system);
    if (offset == context.setting.offsets.end()) {
      if (systems.insert(one.system).second)
        leave_unproven(
            context,
            fmt::format("the program works in {}, whose place on the machine was not given",
                        motion::work_offset_name(one.system)),
            fmt::format("add {} to [offsets], or give --offset", motion::work_offset_name(one.system)),
            one.reach.low_line[0]);
      continue;
    }
    bool const known =
        motion::is_known(length_of(context, one.length)) || !motion::is_known(offset->second.z);
    if (!known && lengths.insert(one.length).second)
      leave_unproven(context, fmt::format("how long H{} is was not given: in Z", one.length),
                     "give the tool a 'length' in the tool table, or the job [lengths]",
                     one.reach.low_line[2]);
  }
  if (context.survey.shifted)
    leave_unproven(context, "the program shifts its coordinates (G92, G52 or G10)",
                   "look at the travel in a dry run", 0);
}

/// The tool's teeth against how deep it goes below the top of the part. A drill is in its own hole.
void check_reach_of_tools(Context& context) {
  double const top = context.setting.stock ? context.setting.stock->high.z : context.survey.highest_cut;
  if (!std::isfinite(top)) return;
  for (motion::ToolDepth const& depth : context.survey.depths) {
    cutter::Tool const* tool = context.tools.find(depth.tool);
    if (!tool || tool->flute_length <= 0) continue;
    double const deep = top - depth.low;
    if (deep <= tool->flute_length + context.resolution.length / 2) continue;
    text::Place place;
    place.line = depth.line;
    context.findings.add(
        text::Severity::warning, "flutes-short",
        fmt::format("T{} ({}) goes {} below {}; its flutes are {} long", depth.tool, cutter::describe(*tool),
                    length_words(deep, Units::mm),
                    context.setting.stock ? "the stock's top" : "the highest cut",
                    length_words(tool->flute_length, Units::mm)),
        "take a tool with longer flutes, or see that its neck and the part keep clear of each other", place);
  }
}

void check_travel(Context& context) {
  motion::Machine const& machine = context.machine;
  for (int axis = 0; axis < 3; ++axis) {
    if (placed(context, axis)) {
      check_exact_travel(context, axis);
      continue;
    }
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

/// Two tools of the program that would have one number on the machine.
void check_tool_numbers(Context& context) {
  std::map<int, int> taken;
  for (int number : context.survey.tools) {
    auto const mapped = context.setting.tool_numbers.find(number);
    int const target = mapped == context.setting.tool_numbers.end() ? number : mapped->second;
    auto const [first, is_new] = taken.emplace(target, number);
    if (!is_new)
      context.findings.add(text::Severity::error, "tool-number-twice",
                           fmt::format("T{} and T{} of the program would both be T{} on the machine",
                                       first->second, number, target),
                           "give each its own number in the job's [tool-map]", text::Place{});
  }
}

} // namespace

void check_limits(Context& context) {
  check_travel(context);
  check_machine_moves(context);
  check_offsets(context);
  check_reach_of_tools(context);
  check_tool_numbers(context);
  for (int number : context.survey.tools)
    check_tool(context, number);
}

} // namespace restep::transform
