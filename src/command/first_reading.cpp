#include "command/first_reading.hpp"

#include "command/progress.hpp"
#include "interpret/reader.hpp"
#include "transform/chip_planner.hpp"

#include <utility>

namespace restep::command {

namespace {

/// Axes move in a way that hangs on the modes, or may do so.
bool moves(motion::Event const& event) {
  auto const* carried = std::get_if<motion::Carried>(&event);
  return std::holds_alternative<motion::Motion>(event) || std::holds_alternative<motion::Cycle>(event) ||
         std::holds_alternative<motion::Home>(event) || std::holds_alternative<motion::MachineMove>(event) ||
         std::holds_alternative<motion::Probe>(event) || (carried != nullptr && carried->motion_unknown);
}

} // namespace

bool read_first(text::Input& input, Setup const& setup, Console const& console, FirstReading& first,
                Outcome& outcome) {
  text::Findings findings;
  {
    Progress progress(console, "reading", input.size());
    interpret::ProgramReader reader(input, setup.from.read, findings);
    motion::Step step;
    bool moved = false, acted = false;
    transform::ChipPlanner planner(setup.machine, setup.tools);
    while (reader.next(step)) {
      first.survey.add(step);
      planner.add(step);
      if (!acted && moves(step.event)) {
        acted = true;
        first.survey.stated = reader.stated();
      }
      if (!moved && motion::motion_of(step) != nullptr) {
        moved = true;
        first.units = reader.modes().units;
      }
      progress.at(step.place.offset);
      input.release_before(step.place.offset);
    }
    first.speeds = planner.speeds();
    first.passages = reader.passages();
  }
  outcome.report.survey = first.survey;
  outcome.report.tools = report::used_tools(first.survey, setup.tools);
  if (!readable(input, outcome)) return false;
  if (findings.has_errors()) {
    outcome.report.findings = std::move(findings);
    return refuse(outcome);
  }
  input.rewind();
  return true;
}

} // namespace restep::command
