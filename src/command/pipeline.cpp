#include "command/pipeline.hpp"

#include "command/progress.hpp"
#include "dialect/writer.hpp"
#include "interpret/reader.hpp"
#include "motion/time_model.hpp"
#include "proof/read_back.hpp"
#include "report/written_path.hpp"
#include "text/output.hpp"
#include "transform/checks.hpp"
#include "transform/chip_planner.hpp"
#include "transform/cutting_check.hpp"
#include "transform/engagement.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <memory>
#include <vector>

namespace restep::command {

namespace {

constexpr std::string_view restep_stage = "restep";
constexpr std::string_view tool_change_stage = "tool-change";

/// Hands every step on and lets somebody look at it.
template <class Look>
class Tap final : public motion::StepSource {
public:
  Tap(motion::StepSource& upstream, Look look)
      : upstream_(upstream)
      , look_(std::move(look)) {}
  bool next(motion::Step& step) override {
    if (!upstream_.next(step)) return false;
    look_(step);
    return true;
  }

private:
  motion::StepSource& upstream_;
  Look look_;
};

/// The first reading: what must be known before anything can be rewritten.
struct FirstReading {
  motion::Survey survey;
  motion::Units units = motion::Units::mm; ///< those of the first motion
  std::map<std::uint32_t, double> speeds;  ///< see transform::Context::planned_speeds
};

bool refuse(Outcome& outcome) {
  outcome.code = ExitCode::refused;
  return false;
}

bool fail(Outcome& outcome, Failure failure) {
  outcome.code = failure.code;
  outcome.failure = std::move(failure);
  return false;
}

/// The medium may fail in the middle of a program; the end of the stream is then not its end.
bool readable(text::Input const& input, Outcome& outcome) {
  return input.error().what.empty() || fail(outcome, file_failure(input.error()));
}

/// False when the program cannot be understood; the findings are then in the report.
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

bool left_out(Setup const& setup, std::string_view stage) {
  return std::find(setup.skip.begin(), setup.skip.end(), stage) != setup.skip.end();
}

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

transform::Context make_context(std::string const& program, Setup const& setup, FirstReading const& first,
                                text::Findings& findings, motion::Edits& edits) {
  motion::Units const units = setup.to.inch ? first.units : motion::Units::mm;
  return {.machine = setup.machine,
          .tools = setup.tools,
          .survey = first.survey,
          .resolution = {setup.to.resolution(units), setup.to.arc_resolution(units),
                         std::pow(10.0, -setup.to.feed_decimals(units))},
          .abilities = {.machine_coordinates = setup.to.machine_coordinates,
                        .home = setup.to.home && !setup.to.read.home_moves_all_axes,
                        .home_all_axes = setup.to.home,
                        .tool_change = setup.to.tool_change,
                        .length_offset = setup.to.length_offset && !measures_by_plate(setup),
                        .touch_off_by_plate = measures_by_plate(setup),
                        .arcs = {setup.to.arcs_xy, setup.to.arcs_zx, setup.to.arcs_yz},
                        .helical_arcs = setup.to.helical_arcs},
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

/// False when the machine may not run this program, whatever is done to it.
bool within_limits(Setup const& setup, transform::Context& context, Outcome& outcome) {
  if (setup.machine_given) transform::check_limits(context);
  return !outcome.report.findings.has_errors() || refuse(outcome);
}

/// What the stages of one run are stacked on: the stages themselves and who watches between them.
using Chain = std::vector<std::unique_ptr<motion::StepSource>>;

/// Stacks the stages that `wanted` names on `source`. `check` watches in front of the tool changes, where T
/// still says which tool it is.
template <class Wanted>
motion::StepSource& stack_stages(Chain& chain, motion::StepSource& source, transform::Context& context,
                                 transform::CuttingCheck& check, Wanted const& wanted) {
  motion::StepSource* last = &source;
  for (transform::Stage const& stage : transform::stages()) {
    if (stage.name == tool_change_stage) {
      auto const look = [&check](motion::Step const& step) { check.add(step); };
      chain.push_back(std::make_unique<Tap<decltype(look)>>(*last, look));
      last = chain.back().get();
    }
    if (!wanted(stage.name)) continue;
    chain.push_back(stage.make(*last, context));
    last = chain.back().get();
  }
  return *last;
}

/// What a stage would change, as findings.
void tell_instead(motion::Edits const& edits, text::Findings& findings) {
  for (motion::Edit const& edit : edits.all()) {
    text::Place place;
    place.line = edit.line;
    findings.add(text::Severity::note, std::string(edit.stage), "a rewrite changes this: " + edit.why, {},
                 place);
  }
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

} // namespace

Outcome rewrite_program(std::string const& program, std::string const& output_path, bool in_place,
                        Setup const& setup, Console const& console) {
  Outcome outcome;
  report::ProgramReport& report = outcome.report;
  name_setup(program, setup, report);
  auto input = text::Input::open(program);
  if (!input) {
    fail(outcome, file_failure(input.error()));
    return outcome;
  }
  // Before the work: a target that cannot be written should not cost a minute of reading.
  auto output = text::AtomicOutput::create(output_path, in_place || program == "-" ? "" : program);
  if (!output) {
    fail(outcome, file_failure(output.error()));
    return outcome;
  }
  FirstReading first;
  if (!read_first(*input, setup, console, first, outcome)) return outcome;

  transform::Context context = make_context(program, setup, first, report.findings, report.edits);
  if (!within_limits(setup, context, outcome)) return outcome;
  motion::TimeModel before(setup.machine), after(setup.machine);
  bool const restored = !left_out(setup, tool_change_stage);
  transform::CuttingCheck cutting_before(setup.machine, setup.tools, restored);
  transform::CuttingCheck cutting_after(setup.machine, setup.tools, restored);
  interpret::ProgramReader reader(*input, setup.from.read, report.findings);
  Tap tap(reader, [&](motion::Step const& step) {
    before.add(step);
    cutting_before.add(step);
  });
  Chain chain;
  motion::StepSource& last = stack_stages(chain, tap, context, cutting_after,
                                          [&](std::string_view stage) { return !left_out(setup, stage); });

  proof::ReadBack read_back(setup.to);
  std::optional<report::WrittenPath> course;
  if (setup.record_path) course.emplace(setup.to, outcome.path);
  auto const sink = [&](std::string_view bytes) {
    output->write(bytes);
    read_back.written(bytes);
    if (course) course->written(bytes);
  };
  dialect::BlockWriter writer(setup.to, *input, sink, report.findings,
                              {.verbatim = setup.from.name == setup.to.name});
  {
    Progress progress(console, "writing", input->size());
    motion::Step step;
    while (!read_back.failure() && context.proof_failure.empty() && last.next(step)) {
      after.add(step);
      read_back.meant(step);
      if (course) course->meant(step);
      writer.write(step);
      progress.at(step.place.offset);
    }
  }
  writer.finish();
  bool const agreed = read_back.finish();
  if (course) course->finish();

  keep_results(context, report);
  if (setup.machine_given) cutting_after.report(report.findings);
  report.cutting_before = cutting_before.figures();
  report.cutting_after = cutting_after.figures();
  report.blocks = writer.count();
  report.seconds_before = before.seconds();
  report.seconds_after = after.seconds();
  if (!readable(*input, outcome)) return outcome;
  // What a stage or the writer found wrong explains a disagreement better than the disagreement does.
  if (report.findings.has_errors()) {
    refuse(outcome);
    return outcome;
  }
  if (!context.proof_failure.empty()) {
    report.failure = proof::ReadBackFailure{0, 0, context.proof_failure};
    outcome.code = ExitCode::proof_failed;
    return outcome;
  }
  if (!agreed) {
    report.failure = read_back.failure();
    outcome.code = ExitCode::proof_failed;
    return outcome;
  }
  report.read_back = read_back.result();
  if (auto const done = output->commit(); !done) {
    fail(outcome, file_failure(done.error()));
    return outcome;
  }
  report.output = output_path;
  return outcome;
}

Outcome inspect_program(std::string const& program, Setup const& setup, Console const& console) {
  Outcome outcome;
  report::ProgramReport& report = outcome.report;
  name_setup(program, setup, report);
  auto input = text::Input::open(program);
  if (!input) {
    fail(outcome, file_failure(input.error()));
    return outcome;
  }
  FirstReading first;
  if (!read_first(*input, setup, console, first, outcome)) return outcome;

  transform::Context context = make_context(program, setup, first, report.findings, report.edits);
  if (setup.machine_given) transform::check_limits(context);
  motion::TimeModel time(setup.machine);
  interpret::ProgramReader reader(*input, setup.from.read, report.findings);
  report::ReadPath course(outcome.path);
  Tap tap(reader, [&](motion::Step const& step) {
    time.add(step);
    if (setup.record_path)
      course.see(step, step.place.line, false, [&] { return input->text_of(step.place); });
  });

  // Without a target the stage only finds the passes and says what they are; the others say what they would
  // do.
  context.target = {};
  motion::Edits would_be;
  transform::Context trial = make_context(program, setup, first, report.findings, would_be);
  trial.add_cautions = false;
  transform::CuttingCheck before(setup.machine, setup.tools, true), after(setup.machine, setup.tools, true);
  Chain finding, limiting;
  motion::StepSource& found = stack_stages(finding, tap, context, before,
                                           [](std::string_view stage) { return stage == restep_stage; });
  motion::StepSource& last = stack_stages(limiting, found, trial, after, [&](std::string_view stage) {
    return setup.machine_given && stage != restep_stage && !left_out(setup, stage);
  });
  {
    Progress progress(console, "inspecting", input->size());
    motion::Step step;
    while (last.next(step)) {
      progress.at(step.place.offset);
      input->release_before(step.place.offset);
    }
  }
  keep_results(context, report);
  if (setup.machine_given) before.report(report.findings);
  tell_instead(would_be, report.findings);
  report.cutting_before = before.figures();
  report.seconds_before = report.seconds_after = time.seconds();
  if (!readable(*input, outcome)) return outcome;
  if (report.findings.has_errors()) refuse(outcome);
  return outcome;
}

} // namespace restep::command
