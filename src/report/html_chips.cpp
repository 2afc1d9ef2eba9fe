#include "proof/event_text.hpp"
#include "report/html_parts.hpp"

#include <fmt/format.h>

namespace restep::report {

namespace {

using finish::LevelFigures;
using proof::plain_number;

std::string range_text(transform::Range const& range, int decimals) {
  if (range.empty()) return "";
  std::string const low = plain_number(range.least, decimals), high = plain_number(range.most, decimals);
  return low == high ? high : low + " to " + high;
}

transform::ToolFigures const* figures_of(std::vector<transform::ToolFigures> const& all, int tool) {
  for (transform::ToolFigures const& one : all)
    if (one.tool == tool) return &one;
  return nullptr;
}

std::string table_start(std::string_view label, std::string_view head) {
  return fmt::format("<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{}\"><table><thead>"
                     "<tr>{}</tr></thead><tbody>",
                     label, head);
}

std::string tools_table(ProgramReport const& report, bool both) {
  std::string text =
      table_start("chips of the tools", both ? "<th>tool<th>shape<th>flutes<th>feed per tooth, mm<th>after"
                                               "<th>cutting speed, m/min<th>after"
                                             : "<th>tool<th>shape<th>flutes<th>feed per tooth, mm"
                                               "<th>cutting speed, m/min");
  for (UsedTool const& tool : report.tools) {
    auto const* before = figures_of(report.cutting_before, tool.number);
    auto const* after = figures_of(report.cutting_after, tool.number);
    if (!before && !after) continue;
    auto const told = [](transform::ToolFigures const* all, transform::Range transform::ToolFigures::*figure,
                         int decimals) { return number_cell(all ? range_text(all->*figure, decimals) : ""); };
    text += "<tr>" + cell(fmt::format("T{}", tool.number)) + cell(tool.text) +
            number_cell(tool.flutes > 0 ? fmt::format("{}", tool.flutes) : "");
    text += told(before, &transform::ToolFigures::chip, 4);
    if (both) text += told(after, &transform::ToolFigures::chip, 4);
    text += told(before, &transform::ToolFigures::speed, 1);
    if (both) text += told(after, &transform::ToolFigures::speed, 1);
    text += "</tr>";
  }
  return text + "</tbody></table></div>";
}

std::string passes_table(ProgramReport const& report, bool both) {
  std::string rows;
  for (finish::PassReport const& pass : report.passes) {
    if (!(pass.before.effective_diameter_mm > 0)) continue;
    auto const told = [&](double LevelFigures::*figure, int decimals) {
      auto const one = [&](LevelFigures const& figures) {
        return figures.*figure > 0 ? plain_number(figures.*figure, decimals) : std::string();
      };
      std::string const before = one(pass.before), after = one(pass.after);
      return number_cell(!both || before == after ? before : fmt::format("{} \u2192 {}", before, after));
    };
    rows += "<tr>" + number_cell(fmt::format("{}", pass.index)) + cell(fmt::format("T{}", pass.tool)) +
            told(&LevelFigures::effective_diameter_mm, 3) + told(&LevelFigures::chip_thinning, 3) +
            told(&LevelFigures::stepover_max_mm, 4) + told(&LevelFigures::radial_thinning, 3) +
            told(&LevelFigures::cutting_speed_m_min, 1) + told(&LevelFigures::feed_per_tooth_mm, 4) +
            told(&LevelFigures::thickest_chip_mm, 4) + "</tr>";
  }
  if (rows.empty()) return {};
  return table_start(
             "chips in the passes",
             "<th>pass<th>tool<th>cutting diameter, mm<th>chip &times; by depth<th>step sideways, mm"
             "<th>chip &times; by width<th>speed there, m/min<th>feed per tooth, mm<th>thickest chip, mm") +
         rows + "</tbody></table></div>";
}

} // namespace

std::string chips_section(ProgramReport const& report, PageKind kind) {
  bool const both = kind == PageKind::rewrite;
  std::string const passes = passes_table(report, both);
  if (report.cutting_before.empty() && report.cutting_after.empty() && passes.empty()) return {};
  std::string text = "<section id=\"chips\"><h2>Chips and cutting speeds</h2>" + tools_table(report, both);
  if (!passes.empty())
    text += passes + "<p class=\"remark\">Arrows lead from before to after. At the largest stepdown of the "
                     "pass a rounded corner cuts on a "
                     "smaller diameter, and a chip is thinner than the feed per tooth by the two factors. "
                     "Nothing stands under the width where levels stand above each other: there the stock "
                     "says what is cut.</p>";
  return text + "</section>\n";
}

} // namespace restep::report
