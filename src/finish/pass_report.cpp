#include "finish/pass_report.hpp"

namespace restep::finish {

PassReport begun_report(std::span<motion::Step const> steps, cutter::Tool const* tool, int tool_number) {
  PassReport report;
  report.first_line = steps.front().place.line;
  report.last_line = steps.back().place.line;
  report.tool = tool_number;
  if (tool != nullptr) report.tool_text = cutter::describe(*tool);
  return report;
}

} // namespace restep::finish
