#include "command/first_reading.hpp"

#include "command/progress.hpp"
#include "command/stage_chain.hpp"
#include "motion/stretch.hpp"

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

ProgramWatch::ProgramWatch(Setup const& setup)
    : time_(setup.machine)
    , cutting_(setup.machine, setup.tools, !left_out(setup, tool_change_stage))
    , relay_(Watch{*this}) {}

FirstLook::FirstLook(interpret::ProgramReader const& reader, Setup const& setup, FirstReading& first)
    : reader_(reader)
    , first_(first)
    , planner_(setup.machine, setup.tools)
    , watch_(setup) {}

void FirstLook::add(motion::Step const& step) {
  first_.survey.add(step);
  planner_.add(step);
  watch_.add(step);
  if (!acted_ && moves(step.event)) {
    acted_ = true;
    first_.survey.stated = reader_.stated();
  }
  if (!moved_ && motion::motion_of(step) != nullptr) {
    moved_ = true;
    first_.units = reader_.modes().units;
  }
}

// The first motion is a step: a stretch begins behind a cut.
void FirstLook::add(motion::Stretch const& stretch) {
  first_.survey.add(stretch);
  planner_.add(stretch);
  watch_.add(stretch);
}

void FirstLook::finish() {
  first_.speeds = planner_.speeds();
  first_.passages = reader_.passages();
  watch_.finish();
  first_.seconds = watch_.seconds();
  first_.cutting = watch_.cutting();
}

bool read_first(text::Input& input, Setup const& setup, Console const& console, FirstReading& first,
                Outcome& outcome) {
  text::Findings findings;
  {
    Progress progress(console, "reading", input.size());
    interpret::ProgramReader reader(input, setup.from.read, findings);
    FirstLook look(reader, setup, first);
    motion::for_each(reader, [&](auto const& passing) {
      look.add(passing);
      std::uint64_t const offset = motion::last_place(passing).offset;
      progress.at(offset);
      input.release_before(offset);
      return true;
    });
    look.finish();
  }
  report_first(first, setup, outcome.report);
  if (!readable(input, outcome)) return false;
  if (findings.has_errors()) {
    outcome.report.findings = std::move(findings);
    return refuse(outcome);
  }
  input.rewind();
  return true;
}

void report_first(FirstReading const& first, Setup const& setup, report::ProgramReport& report) {
  report.survey = first.survey;
  report.tools = report::used_tools(first.survey, setup.tools);
}

} // namespace restep::command
