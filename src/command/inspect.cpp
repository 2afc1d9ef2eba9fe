#include "command/command_line.hpp"
#include "command/pipeline.hpp"
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
  std::string json;
};

ExitCode inspect(InspectOptions const& options, Console const& console) {
  auto const setup = load_setup(options.setup);
  if (!setup) return complain(console, setup.error());
  Outcome const outcome = inspect_program(options.program, *setup, console);
  console.err << report::findings_text(outcome.report);
  if (outcome.failure) return complain(console, *outcome.failure);
  if (options.json != "-") console.out << report::inspect_summary(outcome.report);
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
  line->add_option("PROGRAM", options->program, "program; '-' is standard input")->type_name("")->required();
  add_setup_options(*line, options->setup);
  line->add_option("--json", options->json, "the report as JSON; '-' is standard output")->type_name("FILE");
  return {line, [options](Console const& console) { return inspect(*options, console); }};
}

} // namespace restep::command
