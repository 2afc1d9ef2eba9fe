#include "command/command_line.hpp"
#include "command/surface.hpp"
#include "command/values.hpp"
#include "cutter/cusp.hpp"
#include "cutter/finish_target.hpp"
#include "cutter/step_solver.hpp"
#include "proof/event_text.hpp"
#include "report/json.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <cmath>
#include <memory>

namespace restep::command {

namespace {

using proof::plain_number;

struct StepsOptions {
  std::string tool, surface, finish, max_stepdown, min_stepdown, json;
};

struct Level {
  double z = 0, d = 0;
  double contact = 0;  ///< degrees from the tip of the corner arc (0) to the side (90)
  double stepdown = 0; ///< mm, from the level above
  double cusp = 0;     ///< um, against the level above
  double ra = 0;       ///< um
};

std::vector<Level> levels_of(cutter::LevelPlan const& plan, cutter::Meridian const& meridian,
                             cutter::Tool const& tool) {
  std::vector<Level> levels;
  for (std::size_t i = 0; i < plan.s.size(); ++i) {
    cutter::Vec2 const at = meridian.at(plan.s[i]);
    cutter::Vec2 const tangent = meridian.tangent(plan.s[i]);
    Level level{at.y, at.x, geometry::degrees(std::atan2(-tangent.y, tangent.x))};
    if (i != 0) {
      cutter::Vec2 const above = meridian.at(plan.s[i - 1]);
      level.stepdown = above.y - at.y;
      level.cusp = cutter::cusp_height(tool, meridian, above, at) * 1000;
      level.ra = cutter::ra_between(tool, meridian, above, at) * 1000;
    }
    levels.push_back(level);
  }
  return levels;
}

std::string table(std::vector<Level> const& levels) {
  std::string text = fmt::format("{:>6} {:>11} {:>11} {:>9} {:>11} {:>9} {:>9}\n", "level", "z mm", "d mm",
                                 "angle", "stepdown mm", "cusp um", "Ra um");
  for (std::size_t i = 0; i < levels.size(); ++i) {
    Level const& level = levels[i];
    text +=
        fmt::format("{:>6} {:>11.4f} {:>11.4f} {:>9.3f}", i + 1, level.z + 0.0, level.d + 0.0, level.contact);
    if (i != 0) text += fmt::format(" {:>11.4f} {:>9.3f} {:>9.3f}", level.stepdown, level.cusp, level.ra);
    text += '\n';
  }
  return text;
}

nlohmann::ordered_json json_of(StepsOptions const& options, std::vector<Level> const& levels,
                               cutter::ConstantStep const& constant, bool missed) {
  nlohmann::ordered_json rows = nlohmann::ordered_json::array();
  for (std::size_t i = 0; i < levels.size(); ++i) {
    Level const& level = levels[i];
    nlohmann::ordered_json row{{"level", i + 1},
                               {"z_mm", report::millimetres(level.z)},
                               {"d_mm", report::millimetres(level.d)},
                               {"angle_deg", report::rounded(level.contact, 4)}};
    row["stepdown_mm"] = i == 0 ? nlohmann::ordered_json(nullptr) : report::millimetres(level.stepdown);
    row["cusp_um"] = i == 0 ? nlohmann::ordered_json(nullptr) : report::micrometres(level.cusp);
    row["ra_um"] = i == 0 ? nlohmann::ordered_json(nullptr) : report::micrometres(level.ra);
    rows.push_back(std::move(row));
  }
  return {
      {"schema", report::schema_version},
      {"tool", options.tool},
      {"surface", options.surface},
      {"finish", options.finish},
      {"target_missed", missed},
      {"constant", {{"levels", constant.levels}, {"stepdown_mm", report::millimetres(constant.stepdown)}}},
      {"levels", rows}};
}

ExitCode steps(StepsOptions const& options, Console const& console) {
  auto const tool = cutter::parse_tool(options.tool);
  if (!tool)
    return complain(console, {ExitCode::usage, fmt::format("tool '{}': {}", options.tool, tool.error()), {}});
  if (!tool->can_finish()) {
    return complain(console,
                    {ExitCode::usage, fmt::format("the cusps of the tool '{}' are not known", options.tool),
                     "tools are: flat 6, ball 3, bull 3 r0.3"});
  }
  auto const meridian = surface_meridian(options.surface, *tool);
  if (!meridian) return complain(console, meridian.error());
  auto const finish = cutter::parse_finish(options.finish);
  if (!finish)
    return complain(console,
                    {ExitCode::usage, fmt::format("finish '{}': {}", options.finish, finish.error()), {}});
  cutter::StepLimits limits;
  for (auto const& [text, value] :
       {std::pair<std::string const&, double&>{options.max_stepdown, limits.max_stepdown},
        {options.min_stepdown, limits.min_stepdown}}) {
    if (text.empty()) continue;
    auto const length = parse_length(text);
    if (!length) return complain(console, length.error());
    value = *length;
  }
  bool const wall = meridian->pieces().front().to.x == meridian->pieces().front().from.x;
  if (wall && limits.max_stepdown == 0) {
    return complain(
        console, {ExitCode::usage, "a wall has no cusp that could rule its levels", "give --max-stepdown"});
  }

  auto const plan = cutter::plan_levels(*meridian, *tool, *finish, limits);
  auto const constant = cutter::constant_stepdown(*meridian, *tool, *finish, limits);
  auto const levels = levels_of(plan, *meridian, *tool);
  if (options.json != "-") {
    console.out << table(levels);
    console.out << fmt::format("{} levels; with a constant stepdown of {} mm it takes {}\n", levels.size(),
                               plain_number(constant.stepdown, 4), constant.levels);
    if (plan.target_missed) console.out << "the least stepdown keeps some steps from the target\n";
  }
  if (!options.json.empty()) {
    auto const written =
        write_json(console, json_of(options, levels, constant, plan.target_missed), options.json);
    if (!written) return complain(console, written.error());
  }
  return ExitCode::done;
}

constexpr char const* steps_footer = R"(
Surfaces: round 1.5, fillet 3, draft 3deg height 10, chamfer 45deg height 2,
          wall height 10 (wants --max-stepdown)
z and d are those of the tool's tip: z from the top (fillet: the floor), d from
the first level. The angle is where the tool touches: 0 its tip, 90 its side.

Examples:
  restep steps --tool 'bull 3 r0.3' --surface 'round 1.5' --finish cusp:1um
  restep steps --tool 'ball 2' --surface 'fillet 3' --finish ra:0.4um --json -)";

} // namespace

Command add_steps(CLI::App& app) {
  auto const options = std::make_shared<StepsOptions>();
  CLI::App* line = app.add_subcommand("steps", "the calculator: the levels a finish asks for");
  line->add_option("--tool", options->tool, "such as 'bull 3 r0.3'")->type_name("TOOL")->required();
  line->add_option("--surface", options->surface, "such as 'round 1.5'")->type_name("SURFACE")->required();
  line->add_option("--finish", options->finish, "such as cusp:1um")->type_name("TARGET")->required();
  line->add_option("--max-stepdown", options->max_stepdown, "never step down further")->type_name("LEN");
  line->add_option("--min-stepdown", options->min_stepdown, "never step down less")->type_name("LEN");
  line->add_option("--json", options->json, "the table as JSON; '-' is standard output")->type_name("FILE");
  line->footer(steps_footer);
  return {line, [options](Console const& console) { return steps(*options, console); }};
}

} // namespace restep::command
