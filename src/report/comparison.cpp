#include "report/comparison.hpp"

#include "proof/event_text.hpp"
#include "report/json.hpp"
#include "report/program_report.hpp"
#include "report/terminal.hpp"

#include <fmt/format.h>

namespace restep::report {

using nlohmann::ordered_json;
using proof::plain_number;

namespace {

std::string at(std::string const& program, ComparedBlock const& block) {
  if (block.line == 0) return fmt::format("  {}: no cut\n", program);
  return fmt::format("  {}:{}: {}\n", program, block.line, block.text);
}

ordered_json point_json(geometry::Vec3 const& point) {
  if (!motion::is_known(point)) return nullptr;
  return {millimetres(point.x), millimetres(point.y), millimetres(point.z)};
}

ordered_json program_json(ComparedProgram const& side) {
  return {{"program", side.program},
          {"cuts", side.cuts},
          {"length_mm", millimetres(side.length)},
          {"time_s", seconds(side.seconds)}};
}

} // namespace

std::string comparison_verdict(ComparisonReport const& report) {
  if (report.same())
    return report.deviation <= no_deviation
               ? "the same cut"
               : fmt::format("the same cut within {} um", plain_number(report.tolerance * 1000, 3));
  if (!report.same_path()) return "not the same cut: the ways part";
  return fmt::format("the same way within {} um, but not under the same conditions",
                     plain_number(report.tolerance * 1000, 3));
}

std::string comparison_text(ComparisonReport const& report) {
  std::string text;
  for (ProgramDifference const& difference : report.differences) {
    text += labelled("different", difference.what);
    text += at(report.a.program, difference.a) + at(report.b.program, difference.b);
  }
  text += comparison_verdict(report) + "\n";
  std::string deviation = fmt::format("{} um at most{}", plain_number(report.deviation * 1000, 3),
                                      report.same_path() ? "" : " before the ways part");
  if (report.deviation > no_deviation)
    deviation +=
        fmt::format(", in A's line {} and B's line {}", report.deviation_a.line, report.deviation_b.line);
  text += labelled("deviation", deviation);
  for (ComparedProgram const* side : {&report.a, &report.b}) {
    text += labelled(side == &report.a ? "A" : "B",
                     fmt::format("{}: {} cuts, {} mm, {}", side->program, side->cuts,
                                 plain_number(side->length, 3), duration(side->seconds)));
  }
  if (!report.not_compared.empty())
    text += labelled("left out",
                     fmt::format("{}: not a word of both controls", fmt::join(report.not_compared, ", ")));
  return text;
}

ordered_json to_json(ComparisonReport const& report) {
  ordered_json differences = ordered_json::array();
  for (ProgramDifference const& difference : report.differences) {
    differences.push_back({{"kind", difference.of_path ? "path" : "state"},
                           {"line_a", difference.a.line},
                           {"line_b", difference.b.line},
                           {"text_a", text::printable(difference.a.text)},
                           {"text_b", text::printable(difference.b.text)},
                           {"at_mm", point_json(difference.at)},
                           {"what", difference.what}});
  }
  ordered_json const shift = report.shift ? point_json(*report.shift) : ordered_json(nullptr);
  return {{"schema", schema_version},
          {"same", report.same()},
          {"same_path", report.same_path()},
          {"verdict", comparison_verdict(report)},
          {"tolerance_um", micrometres(report.tolerance * 1000)},
          {"deviation_um", micrometres(report.deviation * 1000)},
          {"deviation_line_a", report.deviation_a.line},
          {"deviation_line_b", report.deviation_b.line},
          {"deviation_at_mm", point_json(report.deviation_at)},
          {"shift_mm", shift},
          {"not_compared", report.not_compared},
          {"differences", differences},
          {"a", program_json(report.a)},
          {"b", program_json(report.b)}};
}

} // namespace restep::report
