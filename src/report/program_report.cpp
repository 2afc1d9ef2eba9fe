#include "report/program_report.hpp"

#include "proof/event_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::report {

std::vector<text::Finding> sorted_findings(text::Findings const& findings) {
  std::vector<text::Finding> sorted = findings.all();
  std::stable_sort(sorted.begin(), sorted.end(), [](text::Finding const& a, text::Finding const& b) {
    if (a.severity != b.severity) return a.severity > b.severity;
    return a.line < b.line;
  });
  return sorted;
}

std::vector<EditRun> folded(motion::Edits const& edits) {
  std::vector<EditRun> runs;
  for (motion::Edit const& edit : edits.all()) {
    bool const goes_on = !runs.empty() && runs.back().stage == edit.stage && runs.back().why == edit.why &&
                         (edit.line == runs.back().last_line || edit.line == runs.back().last_line + 1);
    if (goes_on) {
      runs.back().last_line = edit.line;
      ++runs.back().count;
    } else {
      runs.push_back({edit.line, edit.line, 1, edit.stage, edit.why});
    }
  }
  return runs;
}

std::vector<UsedTool> used_tools(motion::Survey const& survey, cutter::ToolTable const& table) {
  std::vector<UsedTool> tools;
  for (int const number : survey.tools) {
    cutter::Tool const* tool = table.find(number);
    tools.push_back({number, tool != nullptr ? cutter::describe(*tool) : std::string(),
                     tool != nullptr ? tool->flutes : 0});
  }
  return tools;
}

std::string describe(cutter::Surface const& surface) {
  switch (surface.kind) {
  case cutter::SurfaceKind::convex_round:
  case cutter::SurfaceKind::concave_fillet:
    return fmt::format("{} R{:.2f}", cutter::name_of(surface.kind), surface.radius);
  case cutter::SurfaceKind::plane:
    // From the tool axis: small angles are drafts, the drawing's chamfers begin where nobody would say draft.
    return fmt::format("{} {:.1f} deg", surface.angle < 20 ? "draft" : "chamfer", surface.angle);
  case cutter::SurfaceKind::wall:
  case cutter::SurfaceKind::edge:
  case cutter::SurfaceKind::floor: break;
  }
  return std::string(cutter::name_of(surface.kind));
}

std::string duration(double seconds) {
  if (!std::isfinite(seconds)) return "unknown";
  if (seconds < 59.95) return proof::plain_number(seconds, 1) + " s";
  long const whole = std::lround(seconds);
  if (whole < 3600) return fmt::format("{} min {:02} s", whole / 60, whole % 60);
  return fmt::format("{} h {:02} min {:02} s", whole / 3600, whole / 60 % 60, whole % 60);
}

bool surface_known(finish::PassReport const& pass) {
  return !pass.surface.empty() || pass.raster || pass.surface_bound_um > 0 ||
         pass.status == finish::PassStatus::restepped;
}

bool speaks_of_cusps(ProgramReport const& report) {
  return std::any_of(report.passes.begin(), report.passes.end(), [](finish::PassReport const& pass) {
    return pass.before.cusp_max_um > 0 || pass.after.cusp_max_um > 0;
  });
}

} // namespace restep::report
