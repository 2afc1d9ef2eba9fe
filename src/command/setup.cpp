#include "command/setup.hpp"

#include "command/values.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

namespace restep::command {

void add_setup_options(CLI::App& app, SetupOptions& options) {
  app.add_option("--machine", options.machines, "machine that runs it: limits, dialect")
      ->type_name("NAME|FILE")
      ->expected(1)
      ->allow_extra_args(false) // a program may follow
      ->take_all();
  app.add_option("--from", options.from, "dialect it is written in (rs274ngc)")->type_name("NAME|FILE");
  app.add_option("--tools", options.tools, "tool table")->type_name("NAME|FILE");
  app.add_option("--tool", options.tool, "one tool: 'T3 = bull 3 r0.3'; repeatable")
      ->type_name("TOOL")
      ->expected(1)
      ->allow_extra_args(false) // a program may follow
      ->take_all();
  app.add_option("--offset", options.offset, "work zero: 'G54 = X9 Y8 Z-7'; repeatable")
      ->type_name("OFFSET")
      ->expected(1)
      ->allow_extra_args(false) // a program may follow
      ->take_all();
}

void add_talk_options(CLI::App& app, Talk& talk) {
  CLI::Option* quiet = app.add_flag("-q,--quiet", talk.quiet, "warnings and errors alone");
  app.add_flag("-v,--verbose", talk.verbose, "list the edits as well")->excludes(quiet);
}

Failure profile_failure(dialect::ProfileError const& error) {
  std::string where = error.file;
  if (!where.empty() && error.line != 0) where += fmt::format(":{}:{}", error.line, error.column);
  // A file that was there and made no sense, or a name that nobody knows, is the user's slip.
  bool const names_file = error.file.find('/') != std::string::npos || error.file.ends_with(".toml");
  bool const unreadable = names_file && error.line == 0;
  return {unreadable ? ExitCode::files : ExitCode::usage,
          where.empty() ? error.message : fmt::format("{}: {}", where, error.message), error.hint};
}

Expected<dialect::Dialect> load_dialect_option(std::string const& name) {
  auto dialect = dialect::load_dialect(name.empty() ? default_dialect : name);
  if (!dialect) return tl::unexpected(profile_failure(dialect.error()));
  return *dialect;
}

Expected<Setup> load_setup(SetupOptions const& options) {
  Setup setup;
  auto from = load_dialect_option(options.from);
  if (!from) return tl::unexpected(from.error());
  setup.from = *from;
  setup.to = *from;
  if (!options.machines.empty()) {
    auto machine = dialect::load_machine(options.machines.front());
    if (!machine) return tl::unexpected(profile_failure(machine.error()));
    setup.machine = *machine;
    setup.machine_given = true;
    auto to = dialect::load_dialect(setup.machine.dialect);
    if (!to) return tl::unexpected(profile_failure(to.error()));
    setup.to = *to;
  }
  if (!options.tools.empty()) {
    auto tools = dialect::load_tools(options.tools);
    if (!tools) return tl::unexpected(profile_failure(tools.error()));
    setup.tools = *tools;
  }
  for (std::string const& text : options.tool) {
    auto tool = parse_numbered_tool(text);
    if (!tool) return tl::unexpected(tool.error());
    setup.tools.add(*tool);
  }
  for (std::string const& text : options.offset) {
    auto const offset = parse_offset(text);
    if (!offset) return tl::unexpected(offset.error());
    setup.setting.offsets[offset->system] = offset->origin;
  }
  return setup;
}

} // namespace restep::command
