#include "finish/pass_report.hpp"

#include <utility>

namespace restep::finish {

PassReport begun_report(std::span<motion::Step const> steps, cutter::Tool const* tool, int tool_number) {
  PassReport report;
  report.first_line = steps.front().place.line;
  report.last_line = steps.back().place.line;
  report.tool = tool_number;
  if (tool != nullptr) report.tool_text = cutter::describe(*tool);
  return report;
}

void keep_own(PassReport& report, std::string why) {
  report.status = PassStatus::kept;
  report.reason = std::move(why);
  report.after = report.before;
  report.gouge_um = report.peak_um = report.written_cusp_um = 0;
  report.extended_levels = 0;
  report.extended_mm = 0;
}

} // namespace restep::finish
