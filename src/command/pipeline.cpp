#include "command/pipeline.hpp"

#include "command/progress.hpp"
#include "dialect/writer.hpp"
#include "interpret/reader.hpp"
#include "motion/time_model.hpp"
#include "proof/read_back.hpp"
#include "report/written_path.hpp"
#include "text/output.hpp"
#include "transform/checks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <vector>

namespace restep::command {

namespace {

constexpr std::string_view restep_stage = "restep";

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
    while (reader.next(step)) {
      first.survey.add(step);
      if (!moved && motion::motion_of(step) != nullptr) {
        moved = true;
        first.units = reader.modes().units;
      }
      progress.at(step.place.offset);
      input.release_before(step.place.offset);
    }
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

transform::Context make_context(Setup const& setup, FirstReading const& first,
                                report::ProgramReport& report) {
  motion::Units const units = setup.to.inch ? first.units : motion::Units::mm;
  return {.machine = setup.machine,
          .tools = setup.tools,
          .survey = first.survey,
          .resolution = {setup.to.resolution(units), std::pow(10.0, -setup.to.decimals_feed)},
          .abilities = {.machine_coordinates = setup.to.machine_coordinates,
                        .home = setup.to.home && !setup.to.read.home_moves_all_axes,
                        .home_all_axes = setup.to.home,
                        .tool_change = setup.to.tool_change,
                        .length_offset = setup.to.length_offset},
          .target = setup.target,
          .findings = report.findings,
          .edits = report.edits,
          .passes = {},
          .feeds = {},
          .retracts_inserted = 0,
          .add_cautions = setup.target.finish.has_value() || setup.machine_given,
          .texts = {}};
}

/// False when the machine may not run this program, whatever is done to it.
bool within_limits(Setup const& setup, transform::Context& context, Outcome& outcome) {
  if (setup.machine_given) transform::check_limits(context);
  return !outcome.report.findings.has_errors() || refuse(outcome);
}

void keep_results(transform::Context& context, report::ProgramReport& report) {
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

  transform::Context context = make_context(setup, first, report);
  if (!within_limits(setup, context, outcome)) return outcome;
  motion::TimeModel before(setup.machine), after(setup.machine);
  interpret::ProgramReader reader(*input, setup.from.read, report.findings);
  Tap tap(reader, [&before](motion::Step const& step) { before.add(step); });

  std::vector<std::unique_ptr<motion::StepSource>> chain;
  motion::StepSource* last = &tap;
  for (transform::Stage const& stage : transform::stages()) {
    if (std::find(setup.skip.begin(), setup.skip.end(), stage.name) != setup.skip.end()) continue;
    chain.push_back(stage.make(*last, context));
    last = chain.back().get();
  }

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
    while (!read_back.failure() && context.proof_failure.empty() && last->next(step)) {
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

  transform::Context context = make_context(setup, first, report);
  if (setup.machine_given) transform::check_limits(context);
  motion::TimeModel time(setup.machine);
  interpret::ProgramReader reader(*input, setup.from.read, report.findings);
  report::ReadPath course(outcome.path);
  Tap tap(reader, [&](motion::Step const& step) {
    time.add(step);
    if (setup.record_path)
      course.see(step, step.place.line, false, [&] { return input->text_of(step.place); });
  });

  // Without a target the stage only finds the passes and says what they are.
  context.target.finish.reset();
  context.target.limits = {};
  auto const stages = transform::stages();
  auto const stage = std::find_if(stages.begin(), stages.end(), [](transform::Stage const& candidate) {
    return candidate.name == restep_stage;
  });
  std::unique_ptr<motion::StepSource> const finder = stage->make(tap, context);
  {
    Progress progress(console, "inspecting", input->size());
    motion::Step step;
    while (finder->next(step)) {
      progress.at(step.place.offset);
      input->release_before(step.place.offset);
    }
  }
  keep_results(context, report);
  report.seconds_before = report.seconds_after = time.seconds();
  if (!readable(*input, outcome)) return outcome;
  if (report.findings.has_errors()) refuse(outcome);
  return outcome;
}

} // namespace restep::command
