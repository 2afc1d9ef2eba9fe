#include "command/pipeline.hpp"

#include "command/kept_passages.hpp"
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
#include <optional>
#include <utility>
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
  interpret::Passages passages;
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

/// The rewriting of one program: the stages are run over it and what they give is written, once and again
/// until it is settled which passages of the program can be kept.
class Rewriting {
public:
  Rewriting(std::string const& program, Setup const& setup, Console const& console, text::Input& input,
            text::AtomicOutput& output, FirstReading const& first, Outcome& outcome)
      : program_(program)
      , setup_(setup)
      , console_(console)
      , input_(input)
      , output_(output)
      , first_(first)
      , outcome_(outcome)
      , report_(outcome.report)
      , passages_(first.passages, setup)
      , said_before_(report_.findings) {}

  /// False when nothing is to be written; the outcome says why.
  bool run() {
    for (;;) {
      if (!write()) {
        if (!again_) return false;
        start_over();
        continue;
      }
      passages_.tell(report_.findings);
      if (!passages_.any_flow()) return true;
      if (prove_whole()) return true;
      if (outcome_.failure) return false;
      passages_.distrust(difference_);
      start_over();
    }
  }

private:
  std::string const& program_;
  Setup const& setup_;
  Console const& console_;
  text::Input& input_;
  text::AtomicOutput& output_;
  FirstReading const& first_;
  Outcome& outcome_;
  report::ProgramReport& report_;
  KeptPassages passages_;
  text::Findings const said_before_;
  std::string difference_; ///< why the whole output did not read back as what was meant
  bool again_ = false;     ///< what was written is no good, and with fewer passages kept it may be

  bool is_wanted(std::string_view stage) const { return !left_out(setup_, stage); }

  void start_over() {
    again_ = false;
    report_.findings = said_before_;
    report_.edits = motion::Edits();
    outcome_.path = report::Toolpath();
    output_.start_over();
    input_.rewind();
  }

  bool write() {
    transform::Context context = make_context(program_, setup_, first_, report_.findings, report_.edits);
    motion::TimeModel before(setup_.machine), after(setup_.machine);
    bool const restored = is_wanted(tool_change_stage);
    transform::CuttingCheck cutting_before(setup_.machine, setup_.tools, restored);
    transform::CuttingCheck cutting_after(setup_.machine, setup_.tools, restored);
    interpret::ProgramReader reader(input_, setup_.from.read, report_.findings, &passages_.all());
    Tap tap(reader, [&](motion::Step const& step) {
      before.add(step);
      cutting_before.add(step);
    });
    Chain chain;
    motion::StepSource& last = stack_stages(chain, tap, context, cutting_after,
                                            [&](std::string_view stage) { return is_wanted(stage); });

    // With calls or loops in it the output is read back when it is whole.
    std::optional<proof::ReadBack> read_back;
    std::optional<report::WrittenPath> course;
    if (!passages_.any_flow()) {
      read_back.emplace(setup_.to);
      if (setup_.record_path) course.emplace(setup_.to, outcome_.path);
    }
    auto const sink = [&](std::string_view bytes) {
      output_.write(bytes);
      if (read_back) read_back->written(bytes);
      if (course) course->written(bytes);
    };
    dialect::BlockWriter writer(
        setup_.to, input_, sink, report_.findings,
        {.verbatim = setup_.from.name == setup_.to.name, .passages = &passages_.all()});
    {
      Progress progress(console_, "writing", input_.size());
      motion::Step step;
      while (!(read_back && read_back->failure()) && context.proof_failure.empty() && last.next(step)) {
        after.add(step);
        if (read_back) read_back->meant(step);
        if (course) course->meant(step);
        writer.write(step);
        progress.at(step.place.offset);
      }
    }
    writer.finish();
    bool const agreed = !read_back || read_back->finish();
    if (course) course->finish();

    keep_results(context, report_);
    if (setup_.machine_given) cutting_after.report(report_.findings);
    report_.cutting_before = cutting_before.figures();
    report_.cutting_after = cutting_after.figures();
    report_.blocks = writer.count();
    report_.seconds_before = before.seconds();
    report_.seconds_after = after.seconds();
    if (!readable(input_, outcome_)) return false;
    if (passages_.learn(writer.broken(), report_.edits)) {
      again_ = true;
      return false;
    }
    // What a stage or the writer found wrong explains a disagreement better than the disagreement does.
    if (report_.findings.has_errors()) return refuse(outcome_);
    if (!context.proof_failure.empty()) return fail_proof({0, 0, context.proof_failure});
    if (agreed) {
      if (read_back) report_.read_back = read_back->result();
      return true;
    }
    if (passages_.any()) {
      passages_.distrust(read_back->failure()->what);
      again_ = true;
      return false;
    }
    return fail_proof(*read_back->failure());
  }

  bool fail_proof(proof::ReadBackFailure failure) {
    report_.failure = std::move(failure);
    outcome_.code = ExitCode::proof_failed;
    return false;
  }

  /// Reads the whole output while the stages are run once more. False when it does not say what is meant, or
  /// cannot be read.
  bool prove_whole() {
    auto written = output_.reread();
    if (!written) return fail(outcome_, file_failure(written.error()));
    proof::ReadBack read_back(setup_.to, *std::move(written));
    std::optional<report::WrittenPath> course;
    if (setup_.record_path) {
      auto shown = output_.reread();
      if (!shown) return fail(outcome_, file_failure(shown.error()));
      course.emplace(setup_.to, outcome_.path, *std::move(shown));
    }
    input_.rewind();
    text::Findings told;
    motion::Edits made;
    transform::Context context = make_context(program_, setup_, first_, told, made);
    transform::CuttingCheck cutting(setup_.machine, setup_.tools, is_wanted(tool_change_stage));
    interpret::ProgramReader reader(input_, setup_.from.read, told, &passages_.all());
    Chain chain;
    motion::StepSource& last = stack_stages(chain, reader, context, cutting,
                                            [&](std::string_view stage) { return is_wanted(stage); });
    Progress progress(console_, "reading back", input_.size());
    motion::Step step;
    while (!read_back.failure() && last.next(step)) {
      read_back.meant(step);
      if (course) course->meant(step);
      progress.at(step.place.offset);
    }
    bool const agreed = read_back.finish();
    if (course) course->finish();
    if (!readable(input_, outcome_)) return false;
    if (agreed)
      report_.read_back = read_back.result();
    else
      difference_ = read_back.failure()->what;
    return agreed;
  }
};

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
  {
    motion::Edits unmade;
    transform::Context context = make_context(program, setup, first, report.findings, unmade);
    if (!within_limits(setup, context, outcome)) return outcome;
  }
  if (!Rewriting(program, setup, console, *input, *output, first, outcome).run()) return outcome;
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
