#include "command/command_line.hpp"
#include "command/comparing.hpp"
#include "command/pipeline.hpp"
#include "command/rewrite_options.hpp"
#include "command/rewrite_tasks.hpp"
#include "command/values.hpp"
#include "dialect/nearest.hpp"
#include "geometry/in_parallel.hpp"
#include "report/html.hpp"
#include "report/json.hpp"
#include "report/terminal.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <filesystem>
#include <memory>
#include <mutex>
#include <sstream>
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
  rule.extend = options.extend;
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
      if (names == &options.skip && name == "all") continue;
      if (std::find(all.begin(), all.end(), name) != all.end()) continue;
      std::string hint = dialect::did_you_mean(name, all);
      if (hint.empty()) hint = fmt::format("stages are {}", fmt::join(all, ", "));
      return wrong_usage(fmt::format("unknown stage '{}'", name), hint);
    }
  }
  if (std::find(options.skip.begin(), options.skip.end(), "all") != options.skip.end())
    left_out.insert(left_out.end(), all.begin(), all.end());
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
  setup->target.extend = options.extend;
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
  bool const steps =
      setup->target.finish || setup->target.limits.max_stepdown != 0 ||
      std::any_of(setup->target.rules.begin(), setup->target.rules.end(),
                  [](auto const& rule) { return rule.finish || rule.limits.max_stepdown != 0; });
  if (options.extend && !steps)
    return wrong_usage("--extend adds levels as far as a finish asks for them, and none was asked for",
                       "give --finish or --max-stepdown");
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
  std::string row =
      fmt::format("{:<12}  {:>9}  {:<35}  {}", verdict(outcome.code),
                  fmt::format("{} of {}", changed, outcome.report.passes.size()), times,
                  outcome.report.output.empty() ? outcome.report.program : outcome.report.output);
  return row + "\n";
}

/// What one task came to, ready to be told; only what the whole run needs of it is kept.
struct Told {
  ExitCode code = ExitCode::done;
  std::string row;
  bool restepped = false;
  double largest_deviation = 0; ///< mm, of the read-back
  std::optional<Failure> page_failure;
  nlohmann::ordered_json json;
};

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
  Told told;
  told.code = outcome.code;
  told.row = table_row(outcome);
  told.restepped = std::any_of(report.passes.begin(), report.passes.end(),
                               [](auto const& pass) { return pass.status == finish::PassStatus::restepped; });
  if (report.read_back) told.largest_deviation = report.read_back->largest_deviation;
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

/// Compares what was written for the first machine with what was written for each other one, and adds what it
/// found to the other one's report; false when the cuts do not go the same way though no pass was re-stepped:
/// levels depend on the digits of a control.
Expected<bool> compare_machines(std::vector<Task> const& tasks, std::vector<Told>& told,
                                std::vector<Setup> const& setups, Console const& console, bool quiet,
                                std::ostream& summary) {
  bool same = true;
  for (std::size_t k = 0; k < tasks.size(); ++k) {
    std::size_t const first = k - tasks[k].machine;
    if (k == first || told[k].code != ExitCode::done || told[first].code != ExitCode::done) continue;
    Pair pair;
    pair.a = tasks[first].output;
    pair.b = tasks[k].output;
    pair.from_a = setups[0].to;
    pair.from_b = setups[tasks[k].machine].to;
    // What each read-back found between the program and its digits and chords, and what the levels' digits
    // and the path's tolerance leave open.
    pair.tolerance = told[first].largest_deviation + told[k].largest_deviation + setups[0].path_tolerance;
    auto const report = compare_programs(pair, console);
    if (!report) return tl::unexpected(report.error());
    if (!quiet) summary << report::comparison_text(*report) << '\n';
    if (!told[k].json.is_null()) told[k].json["comparison"] = report::to_json(*report);
    if (report->same_path()) continue;
    bool const chosen = told[first].restepped || told[k].restepped;
    console.err << fmt::format("{} and {} do not cut the same way{}\n", pair.a, pair.b,
                               chosen ? ": levels are chosen for each control's digits and proven for each"
                                      : "");
    same = same && chosen;
  }
  return same;
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

  bool const out_is_taken = tasks->front().output == "-" || options.json == "-";
  std::ostream& summary = out_is_taken ? console.err : console.out;
  std::vector<Told> told = run_tasks(*tasks, *setups, options, console, summary);
  ExitCode code = ExitCode::done;
  std::string table = fmt::format("{:<12}  {:>9}  {:<35}  {}\n", "result", "restepped", "time", "program");
  for (Told const& one : told) {
    if (one.page_failure) return complain(console, *one.page_failure);
    if (one.code != ExitCode::done) code = told.size() > 1 ? ExitCode::refused : one.code;
    table += one.row;
  }
  if (told.size() > 1 && !options.talk.quiet) summary << table;
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
  line->add_option("--job", options->job, "all of this in TOML; options win")->type_name("FILE");
  line->add_option("--finish", options->finish, "cusp:1um, ra:0.4um, rz:1.6um or n5")->type_name("TARGET");
  line->add_option("--max-stepdown", options->max_stepdown, "never step down further")->type_name("LEN");
  line->add_option("--min-stepdown", options->min_stepdown, "never step down less")->type_name("LEN");
  line->add_flag("--extend", options->extend, "add levels above a round's first, up to tangency");
  line->add_option("--pass", options->pass, "only these passes: 1,3-5")->type_name("LIST");
  line->add_option("--skip", options->skip, "leave a stage out, or all; repeatable")
      ->type_name("STAGE")
      ->expected(1)
      ->take_all();
  line->add_option("--with", options->with, "run a stage that runs only when asked; repeatable")
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
