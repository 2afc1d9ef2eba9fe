#include "command/first_reading.hpp"

#include "command/progress.hpp"
#include "interpret/reader.hpp"
#include "transform/chip_planner.hpp"

#include <utility>

namespace restep::command {

bool read_first(text::Input& input, Setup const& setup, Console const& console, FirstReading& first,
                Outcome& outcome) {
  text::Findings findings;
  {
    Progress progress(console, "reading", input.size());
    interpret::ProgramReader reader(input, setup.from.read, findings);
    motion::Step step;
    bool moved = false;
    transform::ChipPlanner planner(setup.machine, setup.tools);
    while (reader.next(step)) {
      first.survey.add(step);
      planner.add(step);
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
