#include "report/html.hpp"

#include "proof/event_text.hpp"
#include "report/cautions.hpp"
#include "report/html_parts.hpp"
#include "report/svg.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::report {

using proof::plain_number;

namespace {

std::size_t restepped(ProgramReport const& report) {
  return static_cast<std::size_t>(
      std::count_if(report.passes.begin(), report.passes.end(),
                    [](auto const& pass) { return pass.status == finish::PassStatus::restepped; }));
}

std::string counted(std::size_t number, char const* one, char const* many) {
  return fmt::format("{} {}", number, number == 1 ? one : many);
}

/// A pass worth a section of its own; of stacks that nobody would call a finishing pass only a few are shown.
std::vector<finish::PassReport const*> shown_passes(ProgramReport const& report) {
  constexpr std::size_t most_unrecognised = 5, most = 60;
  std::vector<finish::PassReport const*> shown;
  std::size_t unrecognised = 0;
  for (finish::PassReport const& pass : report.passes) {
    if ((surface_known(pass) || ++unrecognised <= most_unrecognised) && shown.size() < most)
      shown.push_back(&pass);
  }
  return shown;
}

std::string reach(motion::Reach const& reach) {
  std::string text;
  for (int axis = 0; axis < 3; ++axis) {
    if (!(reach.low[axis] <= reach.high[axis])) continue;
    if (!text.empty()) text += ", ";
    text += fmt::format("{} {} to {}", "XYZ"[axis], plain_number(reach.low[axis], 4),
                        plain_number(reach.high[axis], 4));
  }
  return text.empty() ? "none" : text + " mm";
}

std::string row(char const* name, std::string const& value) {
  return value.empty() ? "" : fmt::format("<div><dt>{}</dt><dd>{}</dd></div>", name, escaped(value));
}

std::string setup_section(ProgramReport const& report, PageKind kind) {
  std::string text = "<section id=\"setup\"><h2>Program, machine, tools</h2><dl>";
  text += row("program", report.program);
  text += row("output", kind == PageKind::inspect ? ""
                        : report.output.empty()   ? "nothing was written"
                        : report.output == "-"    ? "standard output"
                                                  : report.output);
  text += row("machine",
              report.machine.empty()
                  ? "none was named: no limits were checked"
                  : report.machine + (report.machine_title.empty() ? "" : ", ") + report.machine_title);
  text += row("dialect", report.from_dialect == report.to_dialect
                             ? report.to_dialect
                             : report.from_dialect + " to " + report.to_dialect);
  text += row("finish asked for", report.target);
  text += row("blocks", fmt::format("{}, with {}", report.survey.blocks,
                                    counted(report.survey.motions, "motion", "motions")));
  text += row("cuts reach", reach(report.survey.cutting));
  text += row("rapids reach", reach(report.survey.rapids));
  text += "</dl>";
  if (!report.tools.empty()) {
    text += "<table class=\"compact\"><thead><tr><th>tool<th>shape<th class=\"n\">flutes</tr></thead><tbody>";
    for (UsedTool const& tool : report.tools)
      text += "<tr>" + cell(fmt::format("T{}", tool.number)) +
              cell(tool.text.empty() ? "not in the tool table" : tool.text) +
              number_cell(tool.flutes > 0 ? fmt::format("{}", tool.flutes) : "not told") + "</tr>";
    text += "</tbody></table>";
  }
  return text + "</section>\n";
}

std::string passes_section(ProgramReport const& report, PageKind kind) {
  std::string text = "<section id=\"passes\"><h2>Finishing passes</h2>";
  if (!report.passes_unseen.empty())
    return text + fmt::format("<p>They were not looked for: {}.</p></section>\n", report.passes_unseen);
  if (report.passes.empty()) return text + "<p>No finishing pass was found.</p></section>\n";
  auto const shown = shown_passes(report);
  for (finish::PassReport const* pass : shown)
    text += pass_section(*pass, kind);
  if (shown.size() < report.passes.size())
    text += fmt::format("<p class=\"remark\">{} more stacks of levels were found and are not shown.</p>",
                        report.passes.size() - shown.size());
  return text + "</section>\n";
}

std::string method_section(PageKind kind) {
  std::string text =
      "<section id=\"method\"><h2>How it was computed</h2><ul>"
      "<li>The meridian is the curve of the tool's tip across the contours; the fewest lines and arcs were "
      "fitted that "
      "explain every level within the program's own digits. The finished surface lies the corner radius "
      "beside the "
      "curve of the corner-arc centres.</li>"
      "<li>A cusp is the height of the point where the outlines of two neighbouring levels meet, along the "
      "surface's "
      "normal, from the valleys beside it: the exact intersection of arcs, flats and sides of the ideal "
      "tool.</li>"
      "<li>Ra is the mean deviation of that outline from its mean line, integrated piece by piece.</li>"
      "<li>Times are those of a machine with limited acceleration that slows down at corners; dwells, tool "
      "changes and "
      "spindle starts count, waiting for people does not.</li>";
  if (kind == PageKind::rewrite)
    text += "<li>Levels are placed by the largest step whose cusp stays within the target; what is left is "
            "spread so that "
            "cusps come out equal. The first and the last level stay where they were.</li>"
            "<li>The written bytes were read again under the target dialect and every motion compared with "
            "the one that was "
            "meant. Each re-stepped pass was cut in a section model as it was written; the measured figures "
            "are from there.</li>";
  return text + "</ul></section>\n";
}

std::string navigation(bool path, bool feeds, bool chips, PageKind kind) {
  std::string text =
      "<nav aria-label=\"sections\"><ul><li><a href=\"#setup\">Setup</a><li><a href=\"#passes\">Passes</a>";
  if (path) text += "<li><a href=\"#path\">Path</a>";
  text += "<li><a href=\"#time\">Time</a>";
  if (feeds) text += "<li><a href=\"#feeds\">Feeds</a>";
  if (chips) text += "<li><a href=\"#chips\">Chips</a>";
  text += "<li><a href=\"#findings\">Findings</a>";
  if (kind == PageKind::rewrite) text += "<li><a href=\"#edits\">Edits</a>";
  return text + "<li><a href=\"#cautions\">Cautions</a><li><a href=\"#method\">Method</a></ul></nav>\n";
}

} // namespace

namespace {

// Passes that were re-stepped and keep places with cusps well above their target.
std::size_t above_target(ProgramReport const& report) {
  constexpr double well_above = 1.2;
  return static_cast<std::size_t>(
      std::count_if(report.passes.begin(), report.passes.end(), [](finish::PassReport const& pass) {
        return pass.status == finish::PassStatus::restepped && pass.target_text.starts_with("cusp") &&
               pass.after.cusp_max_um > well_above * pass.target_um;
      }));
}

} // namespace

std::string verdict(ProgramReport const& report, PageKind kind) {
  std::size_t const errors = report.findings.count(text::Severity::error);
  std::size_t const warnings = report.findings.count(text::Severity::warning);
  std::string text;
  if (report.failure) {
    text = "The proof failed and nothing was written: " + report.failure->what;
  } else if (errors != 0) {
    text = kind == PageKind::rewrite
               ? fmt::format("Refused, nothing was written: {}", counted(errors, "error", "errors"))
               : fmt::format("This program is not fit to run: {}", counted(errors, "error", "errors"));
  } else if (kind == PageKind::inspect) {
    text = fmt::format("Read to the end: {}, {}",
                       counted(report.passes.size(), "stack of levels", "stacks of levels"),
                       duration(report.seconds_before));
  } else if (!report.read_back) {
    text = "Nothing was written";
  } else {
    text = report.passes_unseen.empty() ? fmt::format("{} of {} re-stepped", restepped(report),
                                                      counted(report.passes.size(), "pass", "passes"))
                                        : "Passes were not looked for";
    if (!report.target.empty()) text += " to " + report.target;
    text += fmt::format(". Proven: {} read back and agreed within {} um",
                        counted(report.read_back->motions, "motion", "motions"),
                        plain_number(std::ceil(report.read_back->largest_deviation * 1e6) / 1000, 3));
    double peak = 0, gouge = 0;
    for (finish::PassReport const& pass : report.passes) {
      if (pass.status != finish::PassStatus::restepped) continue;
      peak = std::max(peak, pass.peak_um);
      gouge = std::max(gouge, pass.gouge_um);
    }
    if (std::size_t const over = above_target(report); over > 0)
      text += fmt::format("; in {} strips or levels that stay leave more than was asked for",
                          counted(over, "pass", "passes"));
    if (peak > 0 || gouge > 0)
      text += fmt::format("; material left at most {} um, cut below the surface at most {} um",
                          plain_number(peak, 3), plain_number(gouge, 3));
  }
  text += ". By hand: ";
  if (errors + warnings != 0)
    text += fmt::format("the {} below, ", counted(errors + warnings, "finding", "findings"));
  return text + "tool numbers, lengths and corner radii, work zero, clamps.";
}

std::string cautions_section() {
  std::string text =
      "<section id=\"cautions\"><h2>Cautions</h2><p>Reminders, not instructions: local rules, the machine's "
      "manual and the people trained on it come first.</p><ul>";
  for (std::string_view const caution : cautions())
    text += "<li>" + escaped(caution) + "</li>";
  return text + "</ul></section>\n";
}

std::string short_name(std::string const& program) {
  std::size_t const slash = program.find_last_of('/');
  return slash == std::string::npos ? program : program.substr(slash + 1);
}

std::string page_start(std::string const& title, std::string_view kind, bool good,
                       std::string const& verdict) {
  std::string text =
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">"
      "<meta name=\"color-scheme\" content=\"light dark\">"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
      "script-src 'unsafe-inline'; img-src data: blob:\">";
  text += "<title>" + escaped(title) + ": report</title><style>";
  text += page_style();
  text += "</style></head>\n<body><a class=\"skip\" href=\"#content\">to the content</a><header><p "
          "class=\"kind\">";
  text += escaped(kind);
  return text + fmt::format("</p><h1>{}</h1><p id=\"verdict\" class=\"{}\"><span class=\"sign\" "
                            "aria-hidden=\"true\">{}</span> {}</p></header>\n",
                            escaped(title), good ? "good" : "bad", good ? "&#10003;" : "&#10007;",
                            escaped(verdict));
}

std::string page_end(std::function<std::string()> const& data) {
  std::string text = "<footer><p>Made by restep, which sends nothing to a machine.";
  if (page_script().empty()) return text + "</p></footer>\n</body></html>\n";
  text +=
      " Figures that move use <span id=\"licences\">uPlot (MIT, copyright 2022 Leon Sorokin) and three.js "
      "(MIT, copyright 2010-2026 three.js authors)</span>.</p></footer>\n"
      "<script type=\"application/json\" id=\"restep-data\">";
  text += data() + "</script>\n<script>";
  text += page_script();
  return text + "</script>\n</body></html>\n";
}

std::string html_page(ProgramReport const& report, Toolpath const& path, PageKind kind) {
  bool const good = !report.failure && !report.findings.has_errors() &&
                    (kind == PageKind::inspect || report.read_back.has_value());
  std::string const feeds = feed_section(report, path);
  std::string const chips = chips_section(report, kind);
  std::string const course = path_section(report, path, kind);
  std::string text = page_start(short_name(report.program),
                                kind == PageKind::rewrite ? "Before cycle start" : "What the program does",
                                good, verdict(report, kind));
  text += navigation(!course.empty(), !feeds.empty(), !chips.empty(), kind) + "<main id=\"content\">\n";
  text += setup_section(report, kind) + passes_section(report, kind) + course + time_section(report, kind) +
          feeds + chips;
  text += findings_section(report);
  if (kind == PageKind::rewrite) text += edits_section(report);
  text += cautions_section() + method_section(kind) + "</main>\n";
  return text + page_end([&] { return page_data(report, path); });
}

} // namespace restep::report
