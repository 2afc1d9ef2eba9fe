#include "command/stage_chain.hpp"

#include "transform/checks.hpp"
#include "transform/engagement.hpp"
#include "transform/pass_request.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>

namespace restep::command {

bool left_out(Setup const& setup, std::string_view stage) {
  return std::find(setup.skip.begin(), setup.skip.end(), stage) != setup.skip.end();
}

bool looks_for_passes(Setup const& setup) {
  return !left_out(setup, restep_stage) &&
         (setup.describe_passes || transform::asks_of_passes(setup.target) ||
          !left_out(setup, edge_feeds_stage));
}

namespace {

/// Tools are touched off one by one, so that what the control's length table says must not be added.
bool measures_by_plate(Setup const& setup) {
  return setup.machine.touch_off == motion::TouchOffPolicy::plate && !left_out(setup, tool_change_stage);
}

/// A program that is written in the target's dialect has the lines already that its control wants.
motion::ControlHabits habits_of(Setup const& setup) {
  if (setup.from.name != setup.to.name) return setup.to.habits;
  motion::ControlHabits habits;
  habits.replace = setup.to.habits.replace;
  return habits;
}

} // namespace

transform::Resolution resolution_of(Setup const& setup, motion::Units program_units) {
  motion::Units const units = setup.to.inch ? program_units : motion::Units::mm;
  return {setup.to.resolution(units), setup.to.arc_resolution(units),
          std::pow(10.0, -setup.to.feed_decimals(units))};
}

transform::Context make_context(std::string const& program, Setup const& setup, FirstReading const& first,
                                text::Findings& findings, motion::Edits& edits) {
  return {.machine = setup.machine,
          .tools = setup.tools,
          .survey = first.survey,
          .resolution = resolution_of(setup, first.units),
          .abilities = {.machine_coordinates = setup.to.machine_coordinates,
                        .home = setup.to.home && !setup.to.read.home_moves_all_axes,
                        .home_all_axes = setup.to.home,
                        .tool_change = setup.to.tool_change,
                        .length_offset = setup.to.length_offset && !measures_by_plate(setup),
                        .touch_off_by_plate = measures_by_plate(setup),
                        .arcs = {setup.to.arcs_xy, setup.to.arcs_zx, setup.to.arcs_yz},
                        .helical_arcs = setup.to.helical_arcs,
                        .state_words = setup.to.state_words()},
          .target = setup.target,
          .setting = setup.setting,
          .habits = habits_of(setup),
          .program_name = std::filesystem::path(program).filename().string(),
          .planned_speeds = first.speeds,
          .findings = findings,
          .edits = edits,
          .passes = {},
          .feeds = {},
          .retracts_inserted = 0,
          .path_tolerance = setup.path_tolerance,
          .skipped = setup.skip,
          .before_proof = setup.before_proof,
          .add_cautions = setup.target.finish.has_value() || setup.machine_given,
          .texts = {}};
}

void keep_results(transform::Context& context, report::ProgramReport& report) {
  transform::judge_passes(context);
  report.passes = std::move(context.passes);
  report.feeds = context.feeds;
  report.retracts_inserted = context.retracts_inserted;
}

void name_setup(std::string const& program, Setup const& setup, report::ProgramReport& report) {
  report.program = program == "-" ? "standard input" : program;
  report.machine = setup.machine.name;
  report.machine_title = setup.machine.title;
  report.from_dialect = setup.from.name;
  report.to_dialect = setup.to.name;
  if (setup.target.finish) report.target = setup.target.finish->text;
}

} // namespace restep::command
