// What the options and the job ask for, as the stages take it.

#include "command/rewrite_options.hpp"
#include "command/values.hpp"
#include "dialect/nearest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
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
  rule.said_by = options.said_by;
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

} // namespace restep::command
