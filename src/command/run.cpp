#include "command/run.hpp"

#include "command/command_line.hpp"
#include "dialect/nearest.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <exception>

namespace restep::command {

namespace {

constexpr char const* version = "restep 0.1.0";

constexpr char const* footer = R"(
Lengths carry units: 1um, 0.02mm, 0.001in.
A finish is a cusp height, a roughness or a grade: cusp:1um, ra:0.4um,
rz:1.6um, n5.

Exit status:
  0  done (compare: the same cut)
  1  refused or different; nothing was written
  2  the command line, a job or a profile makes no sense
  3  a file cannot be read or written
  4  the proof failed; nothing was written

'restep COMMAND --help' tells a command's options.
)";

/// The names that could have been meant where `word` stands.
std::vector<std::string> option_names(CLI::App const& app) {
  std::vector<std::string> names;
  for (CLI::Option const* option : app.get_options()) {
    for (std::string const& name : option->get_lnames())
      names.push_back("--" + name);
  }
  return names;
}

Failure explain(CLI::ParseError const& error, CLI::App const& app, std::vector<Command> const& commands) {
  CLI::App const* line = &app;
  for (Command const& command : commands) {
    if (command.line->parsed()) line = command.line;
  }
  std::string const help = fmt::format("'restep{}{} --help' tells the options", line == &app ? "" : " ",
                                       line == &app ? "" : line->get_name());
  for (std::string const& word : line->remaining()) {
    if (word.size() < 2 || word.front() != '-') continue;
    std::string const name = word.substr(0, word.find('='));
    std::string hint = dialect::did_you_mean(name, option_names(*line));
    return {ExitCode::usage, fmt::format("unknown option '{}'", name), hint.empty() ? help : hint};
  }
  return {ExitCode::usage, error.what(), help};
}

} // namespace

int run(std::vector<std::string> const& arguments, std::ostream& out, std::ostream& err, bool terminal) {
  Console const console{out, err, terminal, wants_colour(terminal)};
  CLI::App app("Re-steps the finishing passes of a posted milling program to a finish.", "restep");
  app.set_version_flag("--version", version, "the version");
  app.set_help_flag("-h,--help", "this text");
  app.get_formatter()->column_width(28);
  app.require_subcommand(1);

  std::vector<Command> const commands{add_rewrite(app), add_inspect(app), add_compare(app), add_steps(app),
                                      add_profiles(app)};
  app.footer(footer); // now, so that the commands do not inherit it
  if (arguments.empty()) {
    err << app.help();
    return static_cast<int>(ExitCode::usage);
  }
  std::string const& first = arguments.front();
  std::vector<std::string> names;
  names.reserve(commands.size());
  for (Command const& command : commands)
    names.push_back(command.line->get_name());
  if (first.empty() ||
      (first.front() != '-' && std::find(names.begin(), names.end(), first) == names.end())) {
    std::string hint = dialect::did_you_mean(first, names);
    if (hint.empty()) hint = "'restep --help' tells the commands";
    return static_cast<int>(
        complain(console, {ExitCode::usage, fmt::format("unknown command '{}'", first), hint}));
  }

  try {
    app.parse(std::vector<std::string>(arguments.rbegin(), arguments.rend()));
  } catch (CLI::CallForHelp const&) {
    CLI::App const* line = &app;
    for (Command const& command : commands) {
      if (command.line->parsed() || command.line->get_name() == first) line = command.line;
    }
    out << (line == &app ? app.help() : line->help(app.get_name()));
    return static_cast<int>(ExitCode::done);
  } catch (CLI::CallForVersion const&) {
    out << version << '\n';
    return static_cast<int>(ExitCode::done);
  } catch (CLI::ParseError const& error) {
    return static_cast<int>(complain(console, explain(error, app, commands)));
  }

  for (Command const& command : commands) {
    if (command.line->parsed()) return static_cast<int>(command.run(console));
  }
  return static_cast<int>(ExitCode::usage);
}

} // namespace restep::command
