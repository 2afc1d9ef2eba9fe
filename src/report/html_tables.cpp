#include "report/html_parts.hpp"
#include "report/svg.hpp"

#include <fmt/format.h>

#include <set>

namespace restep::report {

namespace {

/// Rows that a person would still read; the rest is counted.
constexpr std::size_t most_rows = 1000;

/// Of the edits; the style sheet says the same.
constexpr std::size_t rows_in_print = 40;

std::string lines_text(std::uint32_t first, std::uint32_t last) {
  if (first == 0) return "";
  return first == last ? fmt::format("{}", first) : fmt::format("{} to {}", first, last);
}

} // namespace

std::string findings_section(ProgramReport const& report) {
  auto const findings = sorted_findings(report.findings);
  std::string text = fmt::format("<section id=\"findings\"><h2>Findings</h2>");
  if (findings.empty()) return text + "<p>None.</p></section>\n";
  text += "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"findings\"><table "
          "class=\"filterable\">"
          "<thead><tr><th>kind<th class=\"n\">line<th>what</tr></thead><tbody>";
  std::set<std::string> codes;
  for (text::Finding const& finding : findings) {
    codes.insert(finding.code);
    text += fmt::format("<tr class=\"{0}\"><td class=\"severity\">{0}</td>", text::name_of(finding.severity));
    text += number_cell(finding.line == 0 ? "" : fmt::format("{}", finding.line));
    text += "<td>" + escaped(finding.message);
    if (!finding.line_text.empty()) text += "<br><code>" + escaped(finding.line_text) + "</code>";
    if (!finding.hint.empty()) text += "<br><span class=\"hint\">" + escaped(finding.hint) + "</span>";
    text += "</td></tr>";
  }
  text += "</tbody></table></div>";
  for (std::string const& code : codes) {
    if (std::size_t const more = report.findings.left_out(code); more != 0)
      text +=
          fmt::format("<p class=\"remark\">{} more of the kind {} are not listed.</p>", more, escaped(code));
  }
  return text + "</section>\n";
}

std::string edits_section(ProgramReport const& report) {
  std::string text = fmt::format(
      "<section id=\"edits\"><h2>Edits</h2><p><b data-figure=\"edits_made\">{}</b> edits were made. "
      "Lines are those of the program that was read.</p>",
      report.edits.made());
  auto const runs = folded(report.edits);
  if (runs.empty()) return text + "</section>\n";
  text += "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"edits\"><table "
          "class=\"filterable\"><thead>"
          "<tr><th>stage<th class=\"n\">lines<th class=\"n\">edits<th>why</tr></thead><tbody>";
  std::size_t const shown = std::min(most_rows, runs.size());
  std::size_t told = 0;
  for (std::size_t k = 0; k < shown; ++k) {
    EditRun const& run = runs[k];
    told += run.count;
    text += "<tr>" + cell(run.stage) + number_cell(lines_text(run.first_line, run.last_line)) +
            number_cell(fmt::format("{}", run.count)) + cell(run.why) + "</tr>";
  }
  text += "</tbody></table></div>";
  if (shown > rows_in_print)
    text += fmt::format("<p class=\"remark print-only\">{} more rows are not printed.</p>",
                        shown - rows_in_print);
  if (told < report.edits.made())
    text += fmt::format("<p class=\"remark\">{} more edits are not listed.</p>", report.edits.made() - told);
  return text + "</section>\n";
}

} // namespace restep::report
