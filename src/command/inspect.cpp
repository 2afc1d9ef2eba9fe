#include "command/command_line.hpp"
#include "command/pipeline.hpp"
#include "command/rewrite_options.hpp"
#include "report/html.hpp"
#include "report/json.hpp"
#include "report/terminal.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <memory>

namespace restep::command {

namespace {

struct InspectOptions {
  std::string program;
  SetupOptions setup;
  std::string job;
  std::string json;
  std::string html;
  Talk talk;
};

/// What a job and the command line ask for. The job's outputs and targets are a rewrite's and mean nothing
/// here.
Expected<RewriteOptions> with_job(InspectOptions const& options) {
  RewriteOptions all;
  all.setup = options.setup;
  if (!options.program.empty()) all.programs = {options.program};
  if (!options.job.empty()) {
    if (auto const job = add_job(options.job, all); !job) return tl::unexpected(job.error());
  }
  if (all.programs.empty()) return wrong_usage("no program was named");
  if (all.programs.size() > 1)
    return wrong_usage("the job names several programs", "name the one to inspect");
  if (all.setup.machines.size() > 1)
    return wrong_usage("a program is inspected for one machine", "name the one with --machine");
  return all;
}

ExitCode inspect(InspectOptions const& options, Console const& whole_console) {
  Console const console = talking(whole_console, options.talk);
  auto const wanted = with_job(options);
  if (!wanted) return complain(console, wanted.error());
  auto setup = load_rewrite_setup(*wanted);
  if (!setup) return complain(console, setup.error());
  if (options.html == "-")
    return complain(console, {ExitCode::usage, "the report wants a file", "--report FILE.html"});
  if (auto const can = check_writable({options.html, options.json}); !can)
    return complain(console, can.error());
  setup->record_path = !options.html.empty();
  Outcome const outcome = inspect_program(wanted->programs.front(), *setup, console);
  tell_findings(console, outcome.report);
  if (outcome.failure) return complain(console, *outcome.failure);
  if (!options.html.empty()) {
    auto const written =
        write_file(report::html_page(outcome.report, outcome.path, report::PageKind::inspect), options.html);
    if (!written) return complain(console, written.error());
  }
  if (options.json != "-" && !options.talk.quiet) console.out << report::inspect_summary(outcome.report);
  if (!options.json.empty()) {
    auto const written = write_json(console, report::to_json(outcome.report), options.json);
    if (!written) return complain(console, written.error());
  }
  return outcome.code;
}

} // namespace

Command add_inspect(CLI::App& app) {
  auto const options = std::make_shared<InspectOptions>();
  CLI::App* line = app.add_subcommand("inspect", "what a program does: passes, cusps, time, findings");
  line->add_option("PROGRAM", options->program, "program; '-' is standard input")->type_name("");
  add_setup_options(*line, options->setup);
  line->add_option("--job", options->job, "machine, tools, offsets ... from a job")->type_name("FILE");
  line->add_option("--report", options->html, "the report with figures, one HTML file")
      ->type_name("FILE.html");
  line->add_option("--json", options->json, "the report as JSON; '-' is standard output")->type_name("FILE");
  add_talk_options(*line, options->talk);
  line->footer(R"(
Examples:
  restep inspect yoke.nc
  restep inspect yoke.nc --machine bench-mill --tools workshop
  restep inspect yoke.nc --tools workshop --report yoke.html
  restep inspect --job yoke.toml)");
  return {line, [options](Console const& console) { return inspect(*options, console); }};
}

} // namespace restep::command
