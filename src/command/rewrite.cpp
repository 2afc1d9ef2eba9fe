#include "command/command_line.hpp"
#include "command/pipeline.hpp"
#include "command/rewrite_options.hpp"
#include "command/rewrite_tasks.hpp"
#include "command/several.hpp"
#include "geometry/in_parallel.hpp"
#include "report/html.hpp"
#include "report/json.hpp"
#include "report/terminal.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <mutex>
#include <sstream>
#include <utility>

namespace restep::command {

namespace {

Told run_task(Task const& task, Setup const& setup, RewriteOptions const& options, Console const& console,
              std::ostream& summary) {
  Outcome const outcome = rewrite_program(task.program, task.output, task.in_place, setup, console);
  report::ProgramReport const& report = outcome.report;
  tell_findings(console, report);
  if (outcome.failure)
    complain(console, *outcome.failure);
  else if (outcome.code == ExitCode::refused)
    console.err << fmt::format("{}: refused, nothing was written\n", report.program);
  else if (!options.talk.quiet)
    summary << report::rewrite_summary(report);
  if (options.talk.verbose) summary << report::edits_text(report);
  if (outcome.code == ExitCode::proof_failed) {
    console.err << fmt::format("{}: the output does not say what was meant; nothing was written\n",
                               report.program);
  }
  Told told = told_of(outcome);
  if (!task.html.empty() && !outcome.failure) {
    auto const written =
        write_file(report::html_page(report, outcome.path, report::PageKind::rewrite), task.html);
    if (!written) told.page_failure = written.error();
  }
  if (!options.json.empty()) told.json = report::to_json(report);
  return told;
}

/// Several tasks on all processors; each is told whole, in the order of the tasks.
std::vector<Told> run_tasks(std::vector<Task> const& tasks, std::vector<Setup> const& setups,
                            RewriteOptions const& options, Console const& console, std::ostream& summary) {
  std::vector<Told> told(tasks.size());
  if (tasks.size() == 1) {
    told[0] = run_task(tasks[0], setups[0], options, console, summary);
    return told;
  }
  std::mutex telling;
  std::size_t next = 0;
  std::vector<std::optional<std::pair<std::string, std::string>>> texts(tasks.size());
  geometry::in_parallel(tasks.size(), [&](std::size_t k) {
    std::ostringstream out, err;
    Console const own{out, err, false, console.colour, console.quiet};
    told[k] = run_task(tasks[k], setups[tasks[k].machine], options, own, out);
    std::lock_guard const lock(telling);
    texts[k].emplace(out.str(), err.str());
    for (; next < texts.size() && texts[next]; ++next) {
      console.err << texts[next]->second << std::flush;
      summary << texts[next]->first << (texts[next]->first.empty() ? "" : "\n") << std::flush;
      texts[next]->first.clear();
      texts[next]->second.clear();
    }
  });
  return told;
}

/// One setup per machine, or one without any.
Expected<std::vector<Setup>> load_setups(RewriteOptions const& options) {
  std::vector<Setup> setups;
  std::vector<std::string> machines = options.setup.machines;
  if (machines.empty()) machines.emplace_back();
  for (std::string const& machine : machines) {
    RewriteOptions one = options;
    one.setup.machines.clear();
    if (!machine.empty()) one.setup.machines = {machine};
    auto setup = load_rewrite_setup(one);
    if (!setup) return tl::unexpected(setup.error());
    setup->record_path = !options.html.empty();
    setup->describe_passes = !options.html.empty() || !options.json.empty();
    setups.push_back(std::move(*setup));
  }
  return setups;
}

Expected<void> make_folder(std::string const& folder) {
  std::error_code error;
  if (!folder.empty()) std::filesystem::create_directories(folder, error);
  if (error)
    return tl::unexpected(Failure{ExitCode::files, fmt::format("{}: {}", folder, error.message()), {}});
  return {};
}

ExitCode rewrite(RewriteOptions options, Console const& whole_console) {
  Console const console = talking(whole_console, options.talk);
  if (!options.job.empty()) {
    if (auto const job = add_job(options.job, options); !job) return complain(console, job.error());
  }
  auto const tasks = plan_tasks(options);
  if (!tasks) return complain(console, tasks.error());
  auto const setups = load_setups(options);
  if (!setups) return complain(console, setups.error());
  if (auto const made = make_folder(options.out_dir); !made) return complain(console, made.error());
  for (Task const& task : *tasks)
    if (auto const can = check_writable({task.html, options.json}); !can)
      return complain(console, can.error());

  bool const out_is_taken = tasks->front().output == "-" || options.json == "-";
  std::ostream& summary = out_is_taken ? console.err : console.out;
  std::vector<Told> told = run_tasks(*tasks, *setups, options, console, summary);
  ExitCode code = ExitCode::done;
  for (Told const& one : told) {
    if (one.page_failure) return complain(console, *one.page_failure);
    if (one.code != ExitCode::done) code = told.size() > 1 ? ExitCode::refused : one.code;
  }
  if (told.size() > 1 && !options.talk.quiet) summary << table_of(told);
  if (setups->size() > 1) {
    if (!options.talk.quiet) summary << '\n';
    auto const same = compare_machines(*tasks, told, *setups, console, options.talk.quiet, summary);
    if (!same) return complain(console, same.error());
    if (!*same) code = ExitCode::refused;
  }
  if (!options.json.empty()) {
    nlohmann::ordered_json reports = nlohmann::ordered_json::array();
    for (Told& one : told)
      reports.push_back(std::move(one.json));
    auto const written = write_json(console, told.size() == 1 ? reports.front() : reports, options.json);
    if (!written) return complain(console, written.error());
  }
  return code;
}

constexpr char const* rewrite_footer = R"(
'-' is standard input. Without -o the program goes to standard output and the
summary to standard error. Nothing is written unless it was read back and the
read-back agreed. The report is also available with figures (--report FILE.html)
and as JSON (--json FILE, or --json - for standard output).

Stages, in their order:
)";

constexpr char const* rewrite_examples = R"(

Examples:
  restep rewrite yoke.nc -o yoke.out.nc --tools workshop --finish cusp:2um
  restep rewrite yoke.nc -o yoke.out.nc --machine bench-mill --tools workshop \
      --finish ra:0.4um --report yoke.html
  restep rewrite yoke.nc -o out.nc --machine column-mill --machine bench-mill
  restep rewrite cam.nc --tool 'T3 = bull 3 r0.3' --pass 2 --finish n5 > out.nc
  restep rewrite --job yoke.toml)";

} // namespace

Command add_rewrite(CLI::App& app) {
  auto const options = std::make_shared<RewriteOptions>();
  CLI::App* line = app.add_subcommand("rewrite", "re-step, clamp, make safe, write, read back");
  line->add_option("PROGRAM", options->programs, "programs to rewrite")->type_name("");
  line->add_option("-o,--output", options->output, "where the result goes")->type_name("FILE");
  line->add_option("--out-dir", options->out_dir, "folder for several results")->type_name("DIR");
  line->add_flag("--in-place", options->in_place, "replace the program");
  add_setup_options(*line, options->setup);
  line->get_option("--machine")->description("machine that runs it; repeatable: one file each");
  line->add_option("--job", options->job, "all of this in TOML; options win")->type_name("FILE");
  line->add_option("--finish", options->finish, "cusp:1um, ra:0.4um, rz:1.6um or n5")->type_name("TARGET");
  line->add_option("--max-stepdown", options->max_stepdown, "never step down further")->type_name("LEN");
  line->add_option("--min-stepdown", options->min_stepdown, "never step down less")->type_name("LEN");
  line->add_flag("--extend", options->extend, "add levels above a round's first, up to tangency");
  line->add_option("--pass", options->pass, "only these passes: 1,3-5")->type_name("LIST");
  line->add_option("--skip", options->skip, "leave a stage out, or all; repeatable")
      ->type_name("STAGE")
      ->expected(1)
      ->allow_extra_args(false) // a program may follow
      ->take_all();
  line->add_option("--with", options->with, "run a stage that runs only when asked; repeatable")
      ->type_name("STAGE")
      ->expected(1)
      ->allow_extra_args(false) // a program may follow
      ->take_all();
  line->add_option("--path-tol", options->path_tolerance, "how far --with may leave the path (2um)")
      ->type_name("LEN");
  line->add_option("--report", options->html, "the report with figures, one HTML file")
      ->type_name("FILE.html");
  line->add_option("--json", options->json, "the report as JSON")->type_name("FILE");
  add_talk_options(*line, options->talk);
  std::string footer = rewrite_footer;
  for (transform::Stage const& stage : transform::stages())
    footer += fmt::format("  {:<16}{}{}\n", stage.name, stage.on_request ? "(--with) " : "", stage.summary);
  footer.pop_back();
  footer += rewrite_examples;
  line->footer(footer);
  return {line, [options](Console const& console) { return rewrite(*options, console); }};
}

} // namespace restep::command
