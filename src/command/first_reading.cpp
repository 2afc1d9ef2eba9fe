#include "command/first_reading.hpp"

#include "command/progress.hpp"
#include "interpret/reader.hpp"
#include "motion/stretch.hpp"
#include "transform/chip_planner.hpp"

#include <type_traits>
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
    bool moved = false, acted = false;
    transform::ChipPlanner planner(setup.machine, setup.tools);
    // The first motion is a step: a stretch begins behind a cut.
    auto const look = [&](motion::Step const& step) {
      if (!acted && moves(step.event)) {
        acted = true;
        first.survey.stated = reader.stated();
      }
      if (!moved && motion::motion_of(step) != nullptr) {
        moved = true;
        first.units = reader.modes().units;
      }
    };
    motion::for_each(reader, [&](auto const& passing) {
      first.survey.add(passing);
      planner.add(passing);
      if constexpr (std::is_same_v<decltype(passing), motion::Step const&>) look(passing);
      std::uint64_t const offset = motion::last_place(passing).offset;
      progress.at(offset);
      input.release_before(offset);
      return true;
    });
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
