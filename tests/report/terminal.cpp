#include "report/terminal.hpp"

#include "tests/report/report_help.hpp"

#include <catch2/catch.hpp>

#include <limits>
#include <sstream>

using namespace restep;
using Catch::Matchers::Contains;

namespace {

std::size_t longest_line(std::string const& text) {
  std::istringstream lines(text);
  std::string line;
  std::size_t longest = 0;
  while (std::getline(lines, line))
    longest = std::max(longest, line.size());
  return longest;
}

} // namespace

TEST_CASE("durations are told in the units people use", "[terminal]") {
  CHECK(report::duration(8.44) == "8.4 s");
  CHECK(report::duration(59.97) == "1 min 00 s");
  CHECK(report::duration(754) == "12 min 34 s");
  CHECK(report::duration(3725.4) == "1 h 02 min 05 s");
  CHECK(report::duration(std::numeric_limits<double>::quiet_NaN()) == "unknown");
}

TEST_CASE("surfaces are called what the drawing calls them", "[terminal]") {
  using cutter::SurfaceKind;
  CHECK(report::describe({SurfaceKind::convex_round, 1.5, 0, 0, -1}) == "convex round R1.50");
  CHECK(report::describe({SurfaceKind::concave_fillet, 3, 0, 0, -1}) == "concave fillet R3.00");
  CHECK(report::describe({SurfaceKind::plane, 0, 3, 0, -1}) == "draft 3.0 deg");
  CHECK(report::describe({SurfaceKind::plane, 0, 45, 0, -1}) == "chamfer 45.0 deg");
  CHECK(report::describe({SurfaceKind::wall, 0, 0, 0, -1}) == "wall");
}

TEST_CASE("the summary of a rewrite tells each pass before and after", "[terminal]") {
  std::string const text = report::rewrite_summary(report::example());
  CHECK_THAT(text, Contains("pass 1  lines 10-90  T3 bull 3 r0.3  closed contours\n"));
  CHECK_THAT(text, Contains("convex round R1.50 (z 0 to -1.8), draft 3.0 deg (z -1.8 to -6)\n"));
  CHECK_THAT(text, Contains("60 -> 94\n"));
  CHECK_THAT(text, Contains("0.031 .. 92.7 um -> 0.997 .. 0.998 um   (target cusp:1um)\n"));
  CHECK_THAT(text, Contains("0.1 mm -> 0.0004 .. 0.1 mm\n"));
  CHECK_THAT(text, Contains("at most: cusp 1.01 um, material left 1.04 um, gouge 0.05 um\n"));
  CHECK_THAT(text, Contains("kept") && Contains("no curve explains"));
  CHECK_THAT(text, Contains("4 clamped, the lowest to 71 %"));
  CHECK_THAT(text, Contains("100 motions agree, largest deviation 0.49 um"));
  CHECK_THAT(text, Contains("12 min 34 s -> 1 h 02 min 05 s"));
  CHECK_THAT(text, Contains("those of the ideal tool and path"));
}

TEST_CASE("no line of a summary is wider than the terminal", "[terminal]") {
  report::ProgramReport report = report::example();
  report.passes[1].reason += " and so on and so on, until it no longer fits on a line of eighty characters";
  CHECK(longest_line(report::rewrite_summary(report)) <= report::terminal_width);
  CHECK(longest_line(report::inspect_summary(report)) <= report::terminal_width);
}

TEST_CASE("a summary says when nothing was written", "[terminal]") {
  report::ProgramReport report = report::example();
  report.output.clear();
  CHECK_THAT(report::rewrite_summary(report), Contains("nothing was written"));
}

TEST_CASE("a failed read-back is told instead of what agreed", "[terminal]") {
  report::ProgramReport report = report::example();
  report.failure = proof::ReadBackFailure{12, 34, "moved"};
  CHECK_THAT(report::rewrite_summary(report),
             Contains("FAILED at line 34 of the output (line 12 of the program): moved") &&
                 !Contains("agree,"));
}

TEST_CASE("inspect names the tools that the table does not know", "[terminal]") {
  CHECK_THAT(report::inspect_summary(report::example()),
             Contains("T3 bull 3 r0.3, T5 (not in the tool table)"));
}

TEST_CASE("findings are told worst first and those left out are counted", "[terminal]") {
  report::ProgramReport report = report::example();
  for (std::uint32_t line = 100; line < 130; ++line)
    report.findings.add(text::Severity::error, "often", "again", "", {0, 0, line});
  std::string const text = report::findings_text(report);
  CHECK(text.find("error: again") < text.find("an earlier warning"));
  CHECK(text.find("an earlier warning") < text.find("a remark"));
  CHECK_THAT(text, Contains("bell-yoke.nc: 10 more of the kind often\n"));
}

TEST_CASE("stacks that are not recognised do not bury the passes that are", "[terminal]") {
  report::ProgramReport report = report::example();
  finish::PassReport unknown;
  for (unknown.index = 3; unknown.index < 103; ++unknown.index)
    report.passes.push_back(unknown);
  std::string const text = report::inspect_summary(report);
  CHECK_THAT(text, Contains("pass 7 ") && !Contains("pass 8 ") && Contains("95 more stacks"));
}

TEST_CASE("findings are coloured on wish and left out below a severity", "[terminal]") {
  report::ProgramReport const report = report::example();
  std::string const plain = report::findings_text(report);
  CHECK(plain.find('\033') == std::string::npos);
  std::string coloured = report::findings_text(report, {.least = text::Severity::note, .colour = true});
  CHECK(coloured.find("\033[1;33mwarning\033[0m: an earlier warning") != std::string::npos);
  std::string const warnings =
      report::findings_text(report, {.least = text::Severity::warning, .colour = false});
  CHECK(warnings.find("a remark") == std::string::npos);
  CHECK(warnings.find("a warning") != std::string::npos);
}

TEST_CASE("the list of edits names stage, lines and reason", "[terminal]") {
  CHECK(report::edits_text(report::example()) == "12         restep: level added\n");
}

TEST_CASE("a pass tells its width of cut and the speed where it cuts, where they are known", "[terminal]") {
  report::ProgramReport report = report::example();
  CHECK_THAT(report::rewrite_summary(report), !Contains("width ") && !Contains("cutting "));
  report.passes[0].before.stepover_max_mm = 0.1;
  report.passes[0].before.radial_thinning = 0.2649;
  report.passes[0].before.cutting_speed_m_min = 140.74;
  report.passes[0].before.feed_per_tooth_mm = 0.03;
  report.passes[0].before.thickest_chip_mm = 0.0048;
  report.passes[0].after.cutting_speed_m_min = 132;
  std::string const text = report::rewrite_summary(report);
  CHECK_THAT(text, Contains("width      ae 0.1 mm, chip x 0.265\n"));
  CHECK_THAT(text, Contains("cutting    140.7 m/min, 0.03 mm per tooth, chip 0.0048 mm -> 132 m/min\n"));
}
