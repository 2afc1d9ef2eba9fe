#include "report/html.hpp"

#include "cutter/cusp.hpp"
#include "report/html_parts.hpp"
#include "report/json.hpp"
#include "report/svg.hpp"
#include "tests/report/report_help.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cmath>
#include <set>
#include <string_view>

using namespace restep;
using geometry::Vec2;

namespace {

/// A straight flank of 45 degrees cut by a ball of 2 mm in levels 0.1 mm apart, afterwards 0.05 mm apart.
finish::PassReport flank() {
  finish::PassReport pass;
  pass.index = 1;
  pass.first_line = 10;
  pass.last_line = 90;
  pass.tool = 4;
  pass.tool_text = "ball 2";
  cutter::Piece piece;
  piece.from = {0, 0};
  piece.to = {1, -1};
  pass.meridian = cutter::Meridian({piece});
  pass.surface = pass.meridian.surfaces(1);
  for (int k = 0; k <= 10; ++k)
    pass.before.positions.push_back({0.1 * k, -0.1 * k});
  for (int k = 0; k <= 20; ++k)
    pass.after.positions.push_back({0.05 * k, -0.05 * k});
  pass.before.levels = 11;
  pass.after.levels = 21;
  pass.before.time_s = 60;
  pass.after.time_s = 120;
  pass.status = finish::PassStatus::restepped;
  return pass;
}

report::ProgramReport flank_report() {
  report::ProgramReport report = report::example();
  report.passes = {flank()};
  report.target = "cusp:1um";
  return report;
}

motion::Motion line(motion::PathKind kind, motion::Vec3 from, motion::Vec3 to) {
  motion::Motion motion;
  motion.path = kind;
  motion.from = from;
  motion.to = to;
  motion.feed = kind == motion::PathKind::rapid ? 0 : 300;
  return motion;
}

report::Toolpath some_path() {
  report::Toolpath path;
  auto const text = [] { return std::string("G1 X1"); };
  path.add(line(motion::PathKind::rapid, {0, 0, 10}, {0, 0, 1}), {1, 1, {}}, false, 1000, 4, text);
  path.add(line(motion::PathKind::line, {0, 0, 1}, {20, 5, 0}), {2, 2, {}}, true, 1000, 4, text);
  path.add(line(motion::PathKind::rapid, {20, 5, 0}, {20, 5, 10}), {3, 3, {}}, false, 1000, 4, text);
  return path;
}

std::size_t occurrences(std::string const& text, std::string const& part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1))
    ++count;
  return count;
}

} // namespace

TEST_CASE("the page names no address outside itself", "[html]") {
  std::string page = report::html_page(flank_report(), some_path(), report::PageKind::rewrite);
  // The libraries' texts may speak of addresses; nothing in the page itself loads one.
  page.resize(std::min(page.find("<script"), page.size()));
  CHECK(page.find("http://") == std::string::npos);
  CHECK(page.find("https://") == std::string::npos);
  CHECK(page.find(" src=") == std::string::npos);
  CHECK(page.find("<link") == std::string::npos);
  CHECK(page.find("default-src 'none'") != std::string::npos);
}

TEST_CASE("every section that the navigation names is on the page", "[html]") {
  for (auto const kind : {report::PageKind::rewrite, report::PageKind::inspect}) {
    std::string const page = report::html_page(flank_report(), some_path(), kind);
    std::size_t links = 0;
    for (std::size_t at = page.find("href=\"#"); at != std::string::npos;
         at = page.find("href=\"#", at + 1)) {
      std::string const id = page.substr(at + 7, page.find('"', at + 7) - at - 7);
      INFO(id);
      CHECK(occurrences(page, fmt::format("id=\"{}\"", id)) == 1);
      ++links;
    }
    CHECK(links >= 8);
  }
}

TEST_CASE("ids on the page are unique", "[html]") {
  report::ProgramReport report = flank_report();
  report.passes.push_back(flank());
  report.passes.back().index = 2;
  std::string page = report::html_page(report, some_path(), report::PageKind::rewrite);
  page.resize(std::min(page.find("<script"), page.size()));
  std::set<std::string> ids;
  for (std::size_t at = page.find(" id=\""); at != std::string::npos; at = page.find(" id=\"", at + 1)) {
    std::string const id = page.substr(at + 5, page.find('"', at + 5) - at - 5);
    INFO(id);
    CHECK(ids.insert(id).second);
  }
}

TEST_CASE("text of the program cannot become markup", "[html]") {
  report::ProgramReport report = flank_report();
  report.program = "a<b>&\"c\".nc";
  report.findings.add(text::Severity::warning, "x", "<script>alert(1)</script>", "", {0, 0, 2});
  report::Toolpath path;
  path.add(line(motion::PathKind::line, {0, 0, 1}, {20, 5, 0}), {2, 2, {}}, true, 1000, 4,
           [] { return std::string("(</script><b>)"); });
  std::string const page = report::html_page(report, path, report::PageKind::rewrite);
  CHECK(page.find("<script>alert") == std::string::npos);
  CHECK(page.find("</script><b>") == std::string::npos);
  CHECK(page.find("a&lt;b&gt;&amp;&quot;c&quot;.nc") != std::string::npos);
}

TEST_CASE("the verdict names passes in which what stays leaves more than was asked for", "[html]") {
  report::ProgramReport report = flank_report();
  finish::PassReport& pass = report.passes.front();
  pass.status = finish::PassStatus::restepped;
  pass.target_text = "cusp:2um";
  pass.target_um = 2;
  pass.after.cusp_max_um = 1.9;
  std::string const words = "in 1 pass strips or levels that stay leave more than was asked for";
  CHECK(report::verdict(report, report::PageKind::rewrite).find(words) == std::string::npos);
  pass.after.cusp_max_um = 6.1;
  CHECK(report::verdict(report, report::PageKind::rewrite).find(words) != std::string::npos);
  // Under a roughness of 2 um cusps are four times as high.
  pass.target_text = "ra:2um";
  CHECK(report::verdict(report, report::PageKind::rewrite).find(words) == std::string::npos);
}

TEST_CASE("the verdict tells what was proven, and failure is never called good", "[html]") {
  report::ProgramReport report = flank_report();
  CHECK(report::verdict(report, report::PageKind::rewrite).find("100 motions read back") !=
        std::string::npos);
  CHECK(report::html_page(report, report::Toolpath(), report::PageKind::rewrite).find("class=\"good\"") !=
        std::string::npos);

  report::ProgramReport failed = report;
  failed.read_back.reset();
  failed.failure = proof::ReadBackFailure{3, 4, "another place"};
  CHECK(report::verdict(failed, report::PageKind::rewrite).find("nothing was written") != std::string::npos);
  CHECK(report::html_page(failed, report::Toolpath(), report::PageKind::rewrite).find("class=\"good\"") ==
        std::string::npos);

  report::ProgramReport refused = report;
  refused.read_back.reset();
  refused.findings.add(text::Severity::error, "x", "no", "", {0, 0, 1});
  CHECK(report::verdict(refused, report::PageKind::rewrite).find("Refused") == 0);
  CHECK(report::html_page(refused, report::Toolpath(), report::PageKind::rewrite).find("class=\"good\"") ==
        std::string::npos);
}

TEST_CASE("the level table's cusps are those of the cutter room", "[html]") {
  finish::PassReport const pass = flank();
  auto const pairs = report::pair_figures(pass, pass.before.positions);
  REQUIRE(pairs.size() == 10);
  // Two balls of radius r side by side along a plane, s apart: h = r - sqrt(r^2 - s^2/4), formula (1).
  double const s = 0.1 * std::sqrt(2.0);
  CHECK(pairs[3].cusp_um == Approx((1 - std::sqrt(1 - s * s / 4)) * 1000).epsilon(1e-9));
  CHECK(pairs[3].s_peak == Approx((pairs[3].s_from + pairs[3].s_to) / 2));
  std::string const section = report::pass_section(pass, report::PageKind::rewrite);
  CHECK(section.find(fmt::format("{:.3f}", pairs[3].cusp_um)) != std::string::npos);
  CHECK(occurrences(section, "<tr><td class=\"n\">") == 11 + 21);
}

TEST_CASE("a pass that was kept is drawn once", "[html]") {
  finish::PassReport pass = flank();
  pass.status = finish::PassStatus::kept;
  std::string const section = report::pass_section(pass, report::PageKind::rewrite);
  CHECK(section.find("as it is: 11 levels") != std::string::npos);
  CHECK(section.find("after:") == std::string::npos);
}

TEST_CASE("kinds of moves differ in stroke, not in colour alone", "[html]") {
  std::string const style(report::page_style());
  CHECK(style.find(".path.rapid{stroke:var(--rapid);stroke-dasharray") != std::string::npos);
  CHECK(style.find(".path.edit{stroke:var(--edit);stroke-width:5") != std::string::npos);
  std::string const section =
      report::path_section(report::ProgramReport(), some_path(), report::PageKind::rewrite);
  for (char const* kind : {"cut", "rapid", "retract", "edit"})
    CHECK(section.find(fmt::format("class=\"path {}\"", kind)) != std::string::npos);
}

TEST_CASE("edits of one reason on lines that follow each other are one row", "[html]") {
  motion::Edits edits;
  for (std::uint32_t line = 5; line < 9; ++line)
    edits.add(line, "clamp-feeds", "F400 -> F300");
  edits.add(8, "clamp-feeds", "F400 -> F300");
  edits.add(10, "clamp-feeds", "F400 -> F300");
  edits.add(11, "restep", "level added");
  auto const runs = report::folded(edits);
  REQUIRE(runs.size() == 3);
  CHECK(runs[0].first_line == 5);
  CHECK(runs[0].last_line == 8);
  CHECK(runs[0].count == 5);
  CHECK(runs[1].first_line == 10);
  CHECK(runs[2].stage == "restep");
}

TEST_CASE("ticks are round and stay within the scale", "[html]") {
  for (double const high : {0.003, 1.0, 7.3, 94.0, 12345.0}) {
    report::Scale const scale{0, high, 0, 100, false};
    auto const values = report::ticks(scale, 8);
    CHECK(values.size() >= 3);
    CHECK(values.size() <= 11);
    for (double const value : values)
      CHECK(value <= high * (1 + 1e-9));
  }
  CHECK(report::round_down_125(0.0349) == Approx(0.02));
  CHECK(report::round_down_125(5) == Approx(5));
}

TEST_CASE("the page has a table of chips and cutting speeds, with the figures that the JSON has", "[html]") {
  report::ProgramReport report = flank_report();
  CHECK(report::html_page(report, some_path(), report::PageKind::rewrite).find("id=\"chips\"") ==
        std::string::npos);
  report.tools = {{4, "ball 2", 2}};
  transform::ToolFigures figures{4, {}, {}};
  figures.chip.add(0.0123, 7);
  figures.chip.add(0.0345, 8);
  figures.speed.add(56.7, 7);
  report.cutting_before = {figures};
  figures.chip.add(0.0061, 9);
  report.cutting_after = {figures};
  report.passes[0].before.effective_diameter_mm = 0.8721;
  report.passes[0].before.radial_thinning = 0.262;
  report.passes[0].before.thickest_chip_mm = 0.0041;
  report.passes[0].after = report.passes[0].before;
  report.passes[0].after.thickest_chip_mm = 0.0039;
  std::string const page = report::html_page(report, some_path(), report::PageKind::rewrite);
  for (std::string_view const told : {"0.0123 to 0.0345", "0.0061 to 0.0345", "56.7", "0.872", "0.262",
                                      "0.0041 \u2192 0.0039", "href=\"#chips\""}) {
    INFO(told);
    CHECK(page.find(told) != std::string::npos);
  }
  auto const json = report::to_json(report);
  CHECK(json["tools"][0]["chip_mm"]["after"][0] == 0.0061);
  CHECK(json["passes"][0]["after"]["thickest_chip_mm"] == 0.0039);
  CHECK(json["passes"][0]["after"]["spindle_rpm"].is_null());
}
