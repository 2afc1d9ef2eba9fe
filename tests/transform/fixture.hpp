#pragma once

#include "cutter/meridian.hpp"
#include "steps.hpp"
#include "tests/read_fixture.hpp"
#include "transform/restep.hpp"
#include "transform/transform.hpp"

#include <nlohmann/json.hpp>

#include <fstream>
#include <functional>
#include <string>
#include <vector>

/// The workshop's programs and the truth about them, which the generator states from the part's geometry.
namespace restep::transform::testing {

using restep::testing::backwards;
using restep::testing::fixture_path;
using restep::testing::mirrored;
using restep::testing::moved;
using restep::testing::read_program;

/// One stack as the part's geometry makes it.
struct TrueStack {
  std::uint32_t first_line = 0, last_line = 0;
  cutter::Tool tool;
  nlohmann::json surface;
  cutter::Meridian meridian;
  std::vector<geometry::Vec2> levels;
};

inline cutter::Meridian true_meridian(nlohmann::json const& pieces) {
  auto const point = [](nlohmann::json const& p) { return geometry::Vec2{p[0], p[1]}; };
  std::vector<cutter::Piece> out;
  for (auto const& p : pieces) {
    cutter::Piece piece;
    piece.from = point(p["from"]);
    piece.to = point(p["to"]);
    if (p["shape"] == "arc") {
      piece.shape = cutter::Piece::Shape::arc;
      piece.centre = point(p["centre"]);
      piece.rho = p["rho_mm"];
      piece.convex = cross(piece.to - piece.from, piece.centre - piece.from) < 0;
    }
    out.push_back(piece);
  }
  return cutter::Meridian(std::move(out));
}

inline std::vector<TrueStack> true_stacks(std::string const& fixture) {
  std::ifstream file(fixture_path(fixture, "truth.json"));
  auto const json = nlohmann::json::parse(file);
  std::vector<TrueStack> stacks;
  for (auto const& s : json["stacks"]) {
    TrueStack stack;
    stack.first_line = s["lines"][0];
    stack.last_line = s["lines"][1];
    stack.tool = cutter::parse_tool(s["tool"]["text"].get<std::string>()).value();
    stack.tool.number = s["tool"]["number"];
    stack.surface = s["surface"];
    stack.meridian = true_meridian(s["meridian"]);
    for (auto const& l : s["levels_d_z_mm"])
      stack.levels.push_back({l[0], l[1]});
    stacks.push_back(std::move(stack));
  }
  return stacks;
}

/// A stream of steps sent through the re-stepping stage. `before_proof` may put a fault into a pass.
struct Restepped {
  std::vector<Step> steps;
  std::vector<finish::PassReport> passes;
  std::string proof_failure;
  text::Findings findings = text::Findings();
};

inline Restepped run_restep(std::vector<Step> const& steps, std::vector<cutter::Tool> const& tools,
                            PassTarget const& target, double resolution,
                            std::function<void(std::vector<Step>&)> const& before_proof = {}) {
  motion::Machine const machine;
  cutter::ToolTable table;
  for (cutter::Tool const& tool : tools)
    table.add(tool);
  motion::Survey const survey;
  text::Findings findings;
  motion::Edits edits;
  Context context{.machine = machine, .tools = table, .survey = survey, .findings = findings, .edits = edits};
  context.resolution.length = resolution;
  context.target = target;
  context.before_proof = before_proof;
  ListSource source(steps);
  auto const stage = make_restep(source, context);
  Restepped out;
  for (Step step; stage->next(step);)
    out.steps.push_back(step);
  out.passes = std::move(context.passes);
  out.proof_failure = context.proof_failure;
  out.findings = findings;
  return out;
}

/// What a stage wrote as it comes when it is read again.
inline std::vector<Step> as_read(std::vector<Step> steps) {
  for (Step& step : steps)
    step.generated = step.touched = false;
  return steps;
}

inline PassTarget cusp_target(double um) {
  PassTarget target;
  target.finish = cutter::FinishTarget{cutter::FinishKind::cusp, um / 1000, ""};
  return target;
}

} // namespace restep::transform::testing
