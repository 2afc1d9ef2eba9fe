#include "command/pipeline.hpp"

#include "command/kept_passages.hpp"
#include "command/progress.hpp"
#include "command/stage_chain.hpp"
#include "dialect/writer.hpp"
#include "interpret/reader.hpp"
#include "motion/read_ahead.hpp"
#include "motion/relay.hpp"
#include "motion/time_model.hpp"
#include "proof/read_back.hpp"
#include "report/written_path.hpp"
#include "text/output.hpp"
#include "transform/checks.hpp"

#include <atomic>
#include <cstdint>
#include <malloc.h>
#include <optional>
#include <string_view>
#include <utility>

namespace restep::command {

namespace {

/// False when the machine may not run this program, whatever is done to it.
bool within_limits(Setup const& setup, transform::Context& context, Outcome& outcome) {
  if (setup.machine_given) transform::check_limits(context);
  return !outcome.report.findings.has_errors() || refuse(outcome);
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

  bool is_wanted(std::string_view stage) const {
    return stage == restep_stage ? looks_for_passes(setup_) : !left_out(setup_, stage);
  }

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
    motion::TimeModel after(setup_.machine);
    transform::CuttingCheck cutting_after(setup_.machine, setup_.tools, is_wanted(tool_change_stage));
    bool const afresh = setup_.from.name != setup_.to.name && !passages_.any();
    // Where nothing is copied the writer has no use for the program's text, and a thread of its own reads it.
    std::optional<text::Input> own_text;
    if (afresh) {
      auto reopened = input_.reopened();
      if (!reopened) return fail(outcome_, file_failure(reopened.error()));
      own_text.emplace(*std::move(reopened));
#ifdef __GLIBC__
      // Each thread has a heap of its own: what the first reading took for a huge block is not kept in one
      // while another takes as much.
      malloc_trim(0);
#endif
    }
    text::Findings read;
    interpret::ProgramReader reader(input_, setup_.from.read, afresh ? read : report_.findings,
                                    &passages_.all());
    std::atomic<std::uint64_t> written{0}; // the stages and the writer are done with what stands before
    std::optional<motion::ReadAhead> ahead;
    if (afresh)
      ahead.emplace(reader,
                    [&](auto const&) { input_.release_before(written.load(std::memory_order_acquire)); });
    // The first reading has timed the program as it stands; what is kept as text has no time in either.
    std::optional<ProgramWatch> before;
    if (passages_.any()) before.emplace(setup_);
    Tap tap(ahead ? static_cast<motion::StepSource&>(*ahead) : reader, [&](auto const& passing) {
      if (before) before->add(passing);
    });
    Chain chain;
    motion::StepSource& last = stack_stages(chain, tap, context, &cutting_after,
                                            [&](std::string_view stage) { return is_wanted(stage); });

    // With calls or loops in it the output is read back when it is whole.
    std::optional<proof::ReadBack> read_back;
    std::optional<report::WrittenPath> course;
    if (!passages_.any_flow()) {
      read_back.emplace(setup_.to);
      if (setup_.record_path) course.emplace(setup_.to, outcome_.path);
    }
    motion::Relay watching_after([&](auto const& passing) {
      if constexpr (motion::is_written_text<decltype(passing)>) {
        if (read_back) read_back->written(passing);
        if (course) course->written(passing);
      } else {
        after.add(passing);
        if (read_back) read_back->meant(passing);
        if (course) motion::for_each_step(passing, [&](motion::Step const& step) { course->meant(step); });
      }
    });
    auto const sink = [&](std::string_view bytes) {
      output_.write(bytes);
      if (read_back || course) watching_after.tell(bytes);
    };
    dialect::BlockWriter writer(
        setup_.to, own_text ? *own_text : input_, sink, report_.findings,
        {.verbatim = setup_.from.name == setup_.to.name, .passages = &passages_.all()});
    {
      Progress progress(console_, "writing", input_.size());
      motion::for_each(last, [&](auto const& passing) {
        watching_after.tell(passing);
        writer.write(passing);
        std::uint64_t const offset = motion::last_place(passing).offset;
        written.store(offset, std::memory_order_release);
        progress.at(offset);
        return context.proof_failure.empty();
      });
    }
    writer.finish();
    if (before) before->finish();
    watching_after.finish();
    ahead.reset();
    // How far was read ahead of a failure hangs on the threads.
    if (context.proof_failure.empty()) report_.findings.add(read);
    bool const agreed = !read_back || read_back->finish();
    if (course) course->finish();

    keep_results(context, report_);
    if (setup_.machine_given) cutting_after.report(report_.findings);
    report_.cutting_before = before ? before->cutting() : first_.cutting;
    report_.cutting_after = cutting_after.figures();
    report_.blocks = writer.count();
    report_.seconds_before = before ? before->seconds() : first_.seconds;
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
    interpret::ProgramReader reader(input_, setup_.from.read, told, &passages_.all());
    Chain chain;
    motion::StepSource& last = stack_stages(chain, reader, context, nullptr,
                                            [&](std::string_view stage) { return is_wanted(stage); });
    Progress progress(console_, "reading back", input_.size());
    motion::for_each(last, [&](auto const& passing) {
      read_back.meant(passing);
      if (course) motion::for_each_step(passing, [&](motion::Step const& step) { course->meant(step); });
      progress.at(motion::last_place(passing).offset);
      return !read_back.failure();
    });
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
  if (!looks_for_passes(setup))
    report.passes_unseen =
        left_out(setup, restep_stage) ? "the stage is left out" : "nothing is asked of them";
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

} // namespace restep::command
