#include "proof/event_text.hpp"
#include "report/comparison.hpp"
#include "report/html_parts.hpp"
#include "report/program_report.hpp"
#include "report/svg.hpp"

#include <fmt/format.h>

// The page of a comparison: built of the same parts as the report of one program.
namespace restep::report {

using proof::plain_number;

namespace {

std::string place_text(geometry::Vec3 const& place) {
  if (!motion::is_known(place)) return {};
  return fmt::format("X{} Y{} Z{} mm", plain_number(place.x, 4), plain_number(place.y, 4),
                     plain_number(place.z, 4));
}

std::string block_line(char const* name, ComparedBlock const& block) {
  if (block.line == 0) return fmt::format("<div>{}: no cut</div>", name);
  return fmt::format("<div>{}, line {}: <code>{}</code></div>", name, block.line, escaped(block.text));
}

std::string differences_section(ComparisonReport const& report) {
  std::string text = "<section id=\"differences\"><h2>Differences</h2>";
  if (report.same()) return text + "<p>None.</p></section>\n";
  text +=
      "<p>The first of each kind, with both blocks.</p><div class=\"scroll all\" tabindex=\"0\" "
      "role=\"region\" "
      "aria-label=\"differences\"><table><thead><tr><th>kind<th>what<th>blocks and place</tr></thead><tbody>";
  for (ProgramDifference const& difference : report.differences)
    text += "<tr>" + cell(difference.of_path ? "way" : "condition") + cell(difference.what) +
            "<td class=\"blocks\">" + block_line("A", difference.a) + block_line("B", difference.b) +
            "<span class=\"hint\">" + escaped(place_text(difference.at)) + "</span></td></tr>";
  return text + "</tbody></table></div></section>\n";
}

std::string figure_cell(char const* name, std::string const& text) {
  return fmt::format("<td class=\"n\" data-figure=\"{}\">{}</td>", name, escaped(text));
}

std::string programs_section(ComparisonReport const& report) {
  std::string text =
      "<section id=\"programs\"><h2>The two programs</h2><table class=\"compact\"><thead><tr><td><th "
      "scope=\"col\">A<th scope=\"col\">B</tr></thead><tbody>";
  ComparedProgram const &a = report.a, &b = report.b;
  text += "<tr><th scope=\"row\">file</th>" + cell(a.program) + cell(b.program) + "</tr>";
  text += "<tr><th scope=\"row\">cuts</th>" + figure_cell("cuts_a", fmt::format("{}", a.cuts)) +
          figure_cell("cuts_b", fmt::format("{}", b.cuts)) + "</tr>";
  text += "<tr><th scope=\"row\">length of the cuts</th>" +
          figure_cell("length_a", plain_number(a.length, 3) + " mm") +
          figure_cell("length_b", plain_number(b.length, 3) + " mm") + "</tr>";
  text += "<tr><th scope=\"row\">time</th>" + figure_cell("time_a", duration(a.seconds)) +
          figure_cell("time_b", duration(b.seconds)) + "</tr></tbody></table>";
  text += fmt::format("<p>Largest deviation <b data-figure=\"deviation_um\">{} um</b>{}",
                      plain_number(report.deviation * 1000, 3),
                      report.same_path() ? "" : " before the ways part");
  if (report.deviation > no_deviation)
    text += fmt::format(", at {}, in line {} of A (<code>{}</code>) and line {} of B (<code>{}</code>)",
                        place_text(report.deviation_at), report.deviation_a.line,
                        escaped(report.deviation_a.text), report.deviation_b.line,
                        escaped(report.deviation_b.text));
  text += fmt::format(". The ways may part by {} um.</p>", plain_number(report.tolerance * 1000, 3));
  if (report.shift) text += "<p>B is compared with A moved by " + place_text(*report.shift) + ".</p>";
  if (!report.not_compared.empty())
    text += fmt::format("<p class=\"remark\">Left out, not a word of both controls: {}.</p>",
                        fmt::join(report.not_compared, ", "));
  return text + "</section>\n";
}

std::string thinned_text(char const* name, Toolpath const& path) {
  if (path.tolerance() == 0) return {};
  return fmt::format(" {}: {} motions drawn in {} lines that stay within {} mm of the path.", name,
                     path.motions(), path.stretches().size(), plain_number(path.tolerance(), 3));
}

std::vector<PathMark> marks_of(ComparisonReport const& report) {
  std::vector<PathMark> marks;
  if (!report.same_path()) marks.push_back({report.differences.front().at, "1", "bad"});
  if (report.deviation > no_deviation) marks.push_back({report.deviation_at, "D", "deviation"});
  return marks;
}

std::string ways_section(ComparisonReport const& report) {
  geometry::Vec3 const shift = report.shift.value_or(geometry::Vec3{});
  Toolpath const a = report.a.path.thinned(most_drawn).moved(shift), b = report.b.path.thinned(most_drawn);
  if (a.stretches().empty() && b.stretches().empty()) return {};
  auto const rapids = [](Stretch const& s) { return s.kind != StretchKind::cut; };
  auto const cuts = [](Stretch const& s) { return s.kind == StretchKind::cut; };
  std::vector<PathLayer> const layers{{"rapid", "rapids of A (dashed)", &a, rapids},
                                      {"retract", "rapids of B (dotted)", &b, rapids},
                                      {"way-a", "cuts of A (wide, behind)", &a, cuts},
                                      {"way-b", "cuts of B (thin, in front)", &b, cuts}};
  std::string text =
      "<section id=\"ways\"><h2>Both ways</h2><p>A lies wide behind B: where only one colour is "
      "seen, the other program does not cut. ";
  if (!report.same_path()) text += "1: the ways part. ";
  if (report.deviation > no_deviation) text += "D: largest deviation. ";
  if (report.shift) text += "A is drawn moved. ";
  text += "Rapids are not compared." + thinned_text("A", a) + thinned_text("B", b) +
          "</p><div id=\"ways-space\" hidden></div>";
  return text +
         path_views(layers, marks_of(report),
                    "The cuts of A are wide and lie behind those of B, which are thin.") +
         "</section>\n";
}

constexpr std::string_view method =
    "<section id=\"method\"><h2>How it was compared</h2><ul><li>Both programs were read and walked side by "
    "side "
    "along their cuts, in order and as geometry: lines and arcs may be split in any way, units and "
    "positioning "
    "may differ. Rapids are left out.</li><li>At each cut tool, spindle, speed, coolant, feed, work offset "
    "and "
    "its origin, tool length offset and cutter compensation were compared as well; the first difference of "
    "each "
    "kind is told.</li><li>Lengths and times are those of the whole programs; times are without a machine's "
    "limits.</li></ul></section>\n";

} // namespace

std::string comparison_page(ComparisonReport const& report) {
  std::string verdict = comparison_verdict(report);
  verdict.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(verdict.front())));
  std::string text = page_start(short_name(report.a.program) + " and " + short_name(report.b.program),
                                "Is it the same cut?", report.same(), verdict + ".");
  text += "<nav aria-label=\"sections\"><ul><li><a href=\"#differences\">Differences</a><li><a "
          "href=\"#programs\">Programs</a>";
  std::string const ways = ways_section(report);
  if (!ways.empty()) text += "<li><a href=\"#ways\">Ways</a>";
  text += "<li><a href=\"#cautions\">Cautions</a><li><a href=\"#method\">Method</a></ul></nav>\n<main "
          "id=\"content\">\n";
  text += differences_section(report) + programs_section(report) + ways + cautions_section();
  text += method;
  return text + "</main>\n" + page_end([&] { return comparison_data(report, marks_of(report)); });
}

} // namespace restep::report
