#include "command/command_line.hpp"
#include "command/pipeline.hpp"
#include "command/rewrite_options.hpp"
#include "command/values.hpp"
#include "dialect/nearest.hpp"
#include "report/html.hpp"
#include "report/json.hpp"
#include "report/terminal.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <filesystem>
#include <map>
#include <memory>
#include <utility>

namespace restep::command {

namespace {

/// What is asked of passes, common or single: a finish and the limits of a stepdown.
struct Wanted {
  std::optional<cutter::FinishTarget> finish;
  cutter::StepLimits limits;
};

Expected<Wanted> read_wanted(std::string const& finish, std::string const& max_stepdown,
                             std::string const& min_stepdown) {
  Wanted wanted;
  if (!finish.empty()) {
    auto parsed = cutter::parse_finish(finish);
    if (!parsed) return wrong_usage(fmt::format("finish '{}': {}", finish, parsed.error()));
    wanted.finish = *parsed;
  }
  struct Limit {
    std::string const& text;
    double& value;
    char const* name;
  };
  for (Limit const& limit : {Limit{max_stepdown, wanted.limits.max_stepdown, "--max-stepdown"},
                             Limit{min_stepdown, wanted.limits.min_stepdown, "--min-stepdown"}}) {
    if (limit.text.empty()) continue;
    auto const length = parse_length(limit.text);
    if (!length) return tl::unexpected(length.error());
    if (*length == 0) return wrong_usage(fmt::format("{} must be more than nothing", limit.name));
    limit.value = *length;
  }
  if (wanted.limits.max_stepdown != 0 && wanted.limits.min_stepdown > wanted.limits.max_stepdown)
    return wrong_usage("--min-stepdown is larger than --max-stepdown");
  return wanted;
}

Expected<transform::PassRule> read_rule(TargetOptions const& options) {
  transform::PassRule rule;
  auto const wanted = read_wanted(options.finish, options.max_stepdown, options.min_stepdown);
  if (!wanted) return tl::unexpected(wanted.error());
  rule.finish = wanted->finish;
  rule.limits = wanted->limits;
  rule.keep = options.keep;
  if (!options.pass.empty()) {
    auto passes = parse_pass_list(options.pass);
    if (!passes) return tl::unexpected(passes.error());
    rule.passes = *passes;
  }
  if (!options.tool.empty()) {
    std::string_view number = trimmed(options.tool);
    if (number.starts_with('T') || number.starts_with('t')) number.remove_prefix(1);
    auto const [end, error] = std::from_chars(number.data(), number.data() + number.size(), rule.tool);
    if (error != std::errc{} || end != number.data() + number.size() || rule.tool < 0)
      return wrong_usage(fmt::format("target: tool '{}' is not a tool number", options.tool),
                         "write tool = \"T3\"");
  }
  if (!options.lines.empty()) {
    auto const lines = parse_pass_list(options.lines);
    if (!lines)
      return wrong_usage(fmt::format("target: lines '{}' are not a range", options.lines),
                         "write lines = \"100-250\"");
    rule.first_line = static_cast<std::uint32_t>(lines->front());
    rule.last_line = static_cast<std::uint32_t>(lines->back());
  }
  if (rule.passes.empty() && rule.tool < 0 && rule.last_line == 0)
    return wrong_usage("a target names no pass", "say which passes it is for: pass, tool or lines");
  return rule;
}

/// The names of the stages that do not run, or what is wrong with those that were named. A stage that is both
/// asked for and left out does not run.
Expected<std::vector<std::string>> stages_left_out(RewriteOptions const& options) {
  std::vector<std::string> all, left_out;
  for (transform::Stage const& stage : transform::stages()) {
    all.emplace_back(stage.name);
    bool const asked = std::find(options.with.begin(), options.with.end(), stage.name) != options.with.end();
    if (asked && !stage.on_request)
      return wrong_usage(fmt::format("the stage '{}' runs without being asked", stage.name));
    if (stage.on_request && !asked) left_out.emplace_back(stage.name);
  }
  for (auto const* names : {&options.with, &options.skip}) {
    for (std::string const& name : *names) {
      if (std::find(all.begin(), all.end(), name) != all.end()) continue;
      std::string hint = dialect::did_you_mean(name, all);
      if (hint.empty()) hint = fmt::format("stages are {}", fmt::join(all, ", "));
      return wrong_usage(fmt::format("unknown stage '{}'", name), hint);
    }
  }
  left_out.insert(left_out.end(), options.skip.begin(), options.skip.end());
  return left_out;
}

} // namespace

Expected<Setup> load_rewrite_setup(RewriteOptions const& options) {
  auto setup = load_setup(options.setup);
  if (!setup) return setup;

  auto const wanted = read_wanted(options.finish, options.max_stepdown, options.min_stepdown);
  if (!wanted) return tl::unexpected(wanted.error());
  setup->target.finish = wanted->finish;
  setup->target.limits = wanted->limits;
  for (TargetOptions const& target : options.targets) {
    auto rule = read_rule(target);
    if (!rule) return tl::unexpected(rule.error());
    setup->target.rules.push_back(std::move(*rule));
  }
  if (!options.pass.empty()) {
    auto passes = parse_pass_list(options.pass);
    if (!passes) return tl::unexpected(passes.error());
    setup->target.only = *passes;
  }
  auto skip = stages_left_out(options);
  if (!skip) return tl::unexpected(skip.error());
  setup->skip = std::move(*skip);
  if (!options.path_tolerance.empty()) {
    auto const length = parse_length(options.path_tolerance);
    if (!length) return tl::unexpected(length.error());
    if (*length == 0) return wrong_usage("--path-tol must be more than nothing");
    setup->path_tolerance = *length;
  }
  auto const given = std::exchange(setup->setting, options.setting).offsets;
  for (auto const& [system, origin] : given)
    setup->setting.offsets[system] = origin;
  return setup;
}

namespace {

struct Task {
  std::string program;
  std::string output;
  bool in_place = false;
};

/// Which program goes where; refuses what could overwrite something unasked.
Expected<std::vector<Task>> plan_tasks(RewriteOptions const& options) {
  if (options.programs.empty()) return wrong_usage("no program was named");
  int const destinations =
      (options.output.empty() ? 0 : 1) + (options.out_dir.empty() ? 0 : 1) + (options.in_place ? 1 : 0);
  if (destinations > 1) return wrong_usage("-o, --out-dir and --in-place exclude each other");
  if (options.programs.size() > 1 && options.out_dir.empty() && !options.in_place) {
    return wrong_usage("several programs need a place for each result",
                       "give --out-dir DIR, or --in-place to replace the programs");
  }
  std::vector<Task> tasks;
  std::map<std::string, std::string> taken;
  for (std::string const& program : options.programs) {
    if (program == "-" && (options.in_place || !options.out_dir.empty()))
      return wrong_usage("standard input has no name to write under", "use -o FILE");
    Task task{program, options.output.empty() ? "-" : options.output, options.in_place};
    if (options.in_place) task.output = program;
    if (!options.out_dir.empty()) {
      std::filesystem::path const name = std::filesystem::path(program).filename();
      task.output = (std::filesystem::path(options.out_dir) / name).string();
      auto const [other, fresh] = taken.emplace(name.string(), program);
      if (!fresh) {
        return wrong_usage(
            fmt::format("{} and {} would both become {}", other->second, program, task.output));
      }
    }
    tasks.push_back(std::move(task));
  }
  if (!options.html.empty() && tasks.size() > 1)
    return wrong_usage("a report is about one program", "name one program, or ask for --json");
  if (options.html == "-") return wrong_usage("the report wants a file", "--report FILE.html");
  if (options.json == "-" && tasks.front().output == "-")
    return wrong_usage("the program and the JSON cannot both go to standard output");
  return tasks;
}

std::string_view verdict(ExitCode code) {
  switch (code) {
  case ExitCode::done: return "written";
  case ExitCode::refused: return "refused";
  case ExitCode::proof_failed: return "proof failed";
  case ExitCode::usage:
  case ExitCode::files: break;
  }
  return "no file";
}

std::string table_row(Outcome const& outcome) {
  std::string const times = outcome.code == ExitCode::done
                                ? fmt::format("{} -> {}", report::duration(outcome.report.seconds_before),
                                              report::duration(outcome.report.seconds_after))
                                : std::string();
  std::size_t const changed = static_cast<std::size_t>(
      std::count_if(outcome.report.passes.begin(), outcome.report.passes.end(),
                    [](auto const& pass) { return pass.status == finish::PassStatus::restepped; }));
  std::string row = fmt::format("{:<12}  {:>9}  {:<32}  {}", verdict(outcome.code),
                                fmt::format("{} of {}", changed, outcome.report.passes.size()), times,
                                outcome.report.program);
  return row + "\n";
}

ExitCode rewrite(RewriteOptions options, Console const& whole_console) {
  Console const console = talking(whole_console, options.talk);
  if (!options.job.empty()) {
    if (auto const job = add_job(options.job, options); !job) return complain(console, job.error());
  }
  auto const tasks = plan_tasks(options);
  if (!tasks) return complain(console, tasks.error());
  auto setup = load_rewrite_setup(options);
  if (!setup) return complain(console, setup.error());
  setup->record_path = !options.html.empty();
  if (!options.out_dir.empty()) {
    std::error_code error;
    std::filesystem::create_directories(options.out_dir, error);
    if (error)
      return complain(console,
                      {ExitCode::files, fmt::format("{}: {}", options.out_dir, error.message()), {}});
  }

  bool const out_is_taken = tasks->front().output == "-" || options.json == "-";
  std::ostream& summary = out_is_taken ? console.err : console.out;
  ExitCode code = ExitCode::done;
  std::string table;
  nlohmann::ordered_json reports = nlohmann::ordered_json::array();
  for (Task const& task : *tasks) {
    Outcome const outcome = rewrite_program(task.program, task.output, task.in_place, *setup, console);
    tell_findings(console, outcome.report);
    if (outcome.failure)
      complain(console, *outcome.failure);
    else if (outcome.code == ExitCode::refused)
      console.err << fmt::format("{}: refused, nothing was written\n", outcome.report.program);
    else if (!options.talk.quiet)
      summary << report::rewrite_summary(outcome.report);
    if (options.talk.verbose) summary << report::edits_text(outcome.report);
    if (outcome.code == ExitCode::proof_failed) {
      console.err << fmt::format("{}: the output does not say what was meant; nothing was written\n",
                                 outcome.report.program);
    }
    if (tasks->size() > 1) {
      if (!outcome.failure && !options.talk.quiet) summary << '\n';
      table += table_row(outcome);
    }
    if (!options.html.empty() && !outcome.failure) {
      auto const written = write_file(
          report::html_page(outcome.report, outcome.path, report::PageKind::rewrite), options.html);
      if (!written) return complain(console, written.error());
    }
    if (!options.json.empty()) reports.push_back(report::to_json(outcome.report));
    if (outcome.code != ExitCode::done) code = tasks->size() > 1 ? ExitCode::refused : outcome.code;
  }
  if (!table.empty() && !options.talk.quiet)
    summary << fmt::format("{:<12}  {:>9}  {:<32}  {}\n", "result", "restepped", "time", "program") << table;
  if (!options.json.empty()) {
    auto const written = write_json(console, tasks->size() == 1 ? reports.front() : reports, options.json);
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
  line->add_option("--job", options->job, "all of this in TOML; options win")->type_name("FILE");
  line->add_option("--finish", options->finish, "cusp:1um, ra:0.4um, rz:1.6um or n5")->type_name("TARGET");
  line->add_option("--max-stepdown", options->max_stepdown, "never step down further")->type_name("LEN");
  line->add_option("--min-stepdown", options->min_stepdown, "never step down less")->type_name("LEN");
  line->add_option("--pass", options->pass, "only these passes: 1,3-5")->type_name("LIST");
  line->add_option("--skip", options->skip, "leave a stage out; repeatable")
      ->type_name("STAGE")
      ->expected(1)
      ->take_all();
  line->add_option("--with", options->with, "run fit-arcs or join-lines as well; repeatable")
      ->type_name("STAGE")
      ->expected(1)
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
