// The reading of "inspect": the stages run, and what they would do is told instead of written.

#include "command/pipeline.hpp"
#include "command/progress.hpp"
#include "command/stage_chain.hpp"
#include "interpret/reader.hpp"
#include "motion/read_ahead.hpp"
#include "report/written_path.hpp"
#include "transform/checks.hpp"

#include <optional>
#include <string>
#include <type_traits>
#include <utility>

namespace restep::command {

namespace {

/// What a stage would change, as findings.
void tell_instead(motion::Edits const& edits, text::Findings& findings) {
  for (motion::Edit const& edit : edits.all()) {
    text::Place place;
    place.line = edit.line;
    findings.add(text::Severity::note, std::string(edit.stage), "a rewrite changes this: " + edit.why, {},
                 place);
  }
}

} // namespace

Outcome inspect_program(std::string const& program, Setup const& setup, Console const& console) {
  Outcome outcome;
  report::ProgramReport& report = outcome.report;
  name_setup(program, setup, report);
  auto input = text::Input::open(program);
  if (!input) {
    fail(outcome, file_failure(input.error()));
    return outcome;
  }
  // Only what is done for a machine asks for what comes later in the program.
  bool const once = !setup.machine_given;
  FirstReading first;
  if (!once && !read_first(*input, setup, console, first, outcome)) return outcome;

  transform::Context context = make_context(program, setup, first, report.findings, report.edits);
  if (setup.machine_given) transform::check_limits(context);
  text::Findings read;
  interpret::ProgramReader reader(*input, setup.from.read, read);
  std::optional<FirstLook> look;
  if (once) look.emplace(reader, setup, first);
  bool units_known = !once;
  auto const tell_units = [&](motion::Step const& step) {
    if (units_known || motion::motion_of(step) == nullptr) return;
    context.resolution = resolution_of(setup, first.units);
    units_known = true;
  };
  // A thread of its own reads, and alone has to do with the input. The figures of a report want its text as
  // well: with them all goes on one.
  auto const see = [&](auto const& passing) {
    if (look) look->add(passing);
    input->release_before(motion::last_place(passing).offset);
  };
  report::ReadPath course(outcome.path);
  auto const record = [&](motion::Step const& step) {
    course.see(step, step.place.line, false, [&] { return input->text_of(step.place); });
  };
  auto const see_here = [&](auto const& passing) {
    motion::for_each_step(passing, record);
    see(passing);
  };
  std::optional<motion::ReadAhead> ahead;
  std::optional<Tap<decltype(see_here)>> here;
  if (setup.record_path)
    here.emplace(reader, see_here);
  else
    ahead.emplace(reader, see);
  motion::StepSource& source = ahead ? static_cast<motion::StepSource&>(*ahead) : *here;
  auto const look_at_units = [&](auto const& passing) {
    if constexpr (std::is_same_v<decltype(passing), motion::Step const&>) tell_units(passing);
  };
  Tap tap(source, look_at_units);

  // Without a target the stage only finds the passes and says what they are; the others say what they would
  // do.
  context.target = {};
  motion::Edits would_be;
  transform::Context trial = make_context(program, setup, first, report.findings, would_be);
  trial.add_cautions = false;
  transform::CuttingCheck cutting(setup.machine, setup.tools, true);
  Chain finding, limiting;
  motion::StepSource& found = stack_stages(finding, tap, context, setup.machine_given ? &cutting : nullptr,
                                           [](std::string_view stage) { return stage == restep_stage; });
  motion::StepSource& last = stack_stages(limiting, found, trial, nullptr, [&](std::string_view stage) {
    return setup.machine_given && stage != restep_stage && !left_out(setup, stage);
  });
  {
    Progress progress(console, "inspecting", input->size());
    motion::for_each(last, [&](auto const& passing) {
      progress.at(motion::last_place(passing).offset);
      return true;
    });
  }
  if (look) {
    look->finish();
    report_first(first, setup, report);
  }
  if (!readable(*input, outcome)) return outcome;
  if (once && read.has_errors()) {
    report.findings = std::move(read);
    refuse(outcome);
    return outcome;
  }
  report.findings.add(read);
  keep_results(context, report);
  if (setup.machine_given) cutting.report(report.findings);
  tell_instead(would_be, report.findings);
  report.cutting_before = first.cutting;
  report.seconds_before = report.seconds_after = first.seconds;
  if (report.findings.has_errors()) refuse(outcome);
  return outcome;
}

} // namespace restep::command
