// The reading of "inspect": the stages run, and what they would do is told instead of written.

#include "command/pipeline.hpp"
#include "command/progress.hpp"
#include "command/stage_chain.hpp"
#include "interpret/reader.hpp"
#include "motion/read_ahead.hpp"
#include "report/written_path.hpp"
#include "transform/checks.hpp"

#include <atomic>
#include <cstdint>
#include <optional>
#include <string>
#include <type_traits>

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

/// The program on its way to the stages. A thread of its own reads ahead, and alone has to do with the input;
/// where the figures of a page want the text as well, all goes on one.
class Inspected {
public:
  /// With `first` this is the first reading too.
  Inspected(text::Input& input, Setup const& setup, FirstReading* first, report::Toolpath& path)
      : input_(input)
      , reader_(input, setup.from.read, findings_)
      , course_(path) {
    if (first != nullptr) look_.emplace(reader_, setup, *first);
    if (setup.record_path)
      here_.emplace(reader_, Look{*this, true});
    else
      ahead_.emplace(reader_, Look{*this, false});
  }

  /// The stages are done with what stands before this offset.
  void passed(std::uint64_t offset) { passed_.store(offset, std::memory_order_release); }

  motion::StepSource& source() { return ahead_ ? static_cast<motion::StepSource&>(*ahead_) : *here_; }

  /// When all has been read: what was found wrong.
  text::Findings const& finish() {
    if (look_) look_->finish();
    return findings_;
  }

private:
  struct Look {
    Inspected& self;
    bool record;
    template <class Passing>
    void operator()(Passing const& passing) const {
      self.see(passing, record);
    }
  };

  template <class Passing>
  void see(Passing const& passing, bool record) {
    if (record)
      motion::for_each_step(passing, [this](motion::Step const& step) {
        course_.see(step, step.place.line, false, [&] { return input_.text_of(step.place); });
      });
    if (look_) look_->add(passing);
    input_.release_before(passed_.load(std::memory_order_acquire));
  }

  text::Input& input_;
  std::atomic<std::uint64_t> passed_{0};
  text::Findings findings_;
  interpret::ProgramReader reader_;
  report::ReadPath course_;
  std::optional<FirstLook> look_;
  std::optional<Tap<Look>> here_;
  std::optional<motion::ReadAhead> ahead_; ///< last: its thread uses the others
};

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
  // Without a target the stage only finds the passes and says what they are; the others say what they would
  // do.
  context.target = {};
  motion::Edits would_be;
  transform::Context trial = make_context(program, setup, first, report.findings, would_be);
  trial.add_cautions = false;

  Inspected inspected(*input, setup, once ? &first : nullptr, outcome.path);
  bool units_known = !once;
  Tap tap(inspected.source(), [&](auto const& passing) {
    if constexpr (std::is_same_v<decltype(passing), motion::Step const&>) {
      if (units_known || motion::motion_of(passing) == nullptr) return;
      context.resolution = resolution_of(setup, first.units);
      units_known = true;
    }
  });
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
      std::uint64_t const offset = motion::last_place(passing).offset;
      inspected.passed(offset);
      progress.at(offset);
      return true;
    });
  }
  text::Findings const& read = inspected.finish();
  if (once) report_first(first, setup, report);
  if (!readable(*input, outcome)) return outcome;
  if (read.has_errors()) {
    report.findings = read;
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
