// Which passes get which target, and which are left alone and why, through the program itself. The bell yoke
// has four passes: 1 and 2 with T1 and others; 3 (T3) and 4 (T4) have cusps.
#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <regex>
#include <string>

using namespace restep::command;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

struct Report {
  json value;
  Run run;
};

Report rewrite(Folder const& folder, std::string const& program, std::string const& job_keys) {
  std::string const job = folder.write("job.toml", "tools = \"workshop\"\n" + job_keys);
  Report report;
  report.run = run_program(
      {"rewrite", program, "--job", job, "-o", folder.path("out.nc"), "--json", folder.path("out.json")});
  INFO(report.run.err);
  REQUIRE(report.run.status == 0);
  report.value = json::parse(content_of(folder.path("out.json")));
  return report;
}

json const& pass(Report const& report, std::size_t number) {
  return report.value["passes"].at(number - 1);
}

std::string const yoke = "fixtures/bell-yoke/program.nc";

// The bell cap with something done to every block that matches.
std::string changed_cap(std::string const& pattern, std::string const& by) {
  return std::regex_replace(content_of(source_file("fixtures/bell-cap/program.nc")),
                            std::regex(pattern, std::regex::multiline), by);
}

} // namespace

TEST_CASE("a target by pass number is for that pass alone", "[target]") {
  Folder const folder;
  auto const report = rewrite(folder, source_file(yoke),
                              "finish = \"cusp:5um\"\n[[target]]\npass = \"3\"\nfinish = \"cusp:2um\"\n");
  CHECK(pass(report, 3)["target_um"] == 2.0);
  CHECK(pass(report, 4)["target_um"] == 5.0);
  CHECK(pass(report, 3)["after"]["cusp_max_um"].get<double>() <= 2);
  CHECK(pass(report, 4)["after"]["cusp_max_um"].get<double>() > 2);
  // The terminal tells each pass's own, and where it is asked for.
  CHECK_THAT(report.run.out,
             Contains("(target cusp:2um,") && Contains("job.toml:3)") && Contains("(target cusp:5um)"));
  CHECK(pass(report, 3)["target"] == json({{"finish", "cusp:2um"}, {"from", "job.toml:3"}}));
  CHECK(pass(report, 4)["target"] == json({{"finish", "cusp:5um"}, {"from", "all passes"}}));
}

TEST_CASE("a target by tool is for that tool's passes", "[target]") {
  Folder const folder;
  auto const report =
      rewrite(folder, source_file(yoke), "[[target]]\ntool = \"T4\"\nfinish = \"cusp:3um\"\n");
  CHECK(pass(report, 3)["status"] == "kept");
  CHECK(pass(report, 4)["status"] == "restepped");
  CHECK(pass(report, 4)["target_um"] == 3.0);
}

TEST_CASE("a target by lines is for the passes that lie within them", "[target]") {
  Folder const folder;
  auto const all = rewrite(folder, source_file(yoke), "finish = \"cusp:2um\"\n");
  auto const lines = pass(all, 3)["lines"];
  std::string const within = fmt::format("{}-{}", lines[0].get<int>(), lines[1].get<int>());
  auto const report =
      rewrite(folder, source_file(yoke), "[[target]]\nlines = \"" + within + "\"\nfinish = \"cusp:3um\"\n");
  CHECK(pass(report, 3)["status"] == "restepped");
  CHECK(pass(report, 3)["target_um"] == 3.0);
  CHECK(pass(report, 4)["status"] == "kept");
  // One line less is not all of the pass.
  std::string const less = fmt::format("{}-{}", lines[0].get<int>() + 1, lines[1].get<int>());
  auto const none =
      rewrite(folder, source_file(yoke), "[[target]]\nlines = \"" + less + "\"\nfinish = \"cusp:3um\"\n");
  CHECK(pass(none, 3)["status"] == "kept");
}

TEST_CASE("a pass that a job keeps is kept, whatever the others get", "[target]") {
  Folder const folder;
  auto const report =
      rewrite(folder, source_file(yoke), "finish = \"cusp:2um\"\n[[target]]\npass = \"3\"\nkeep = true\n");
  CHECK(pass(report, 3)["status"] == "kept");
  CHECK(pass(report, 4)["status"] == "restepped");
  CHECK(pass(report, 3)["target"] == json({{"finish", nullptr}, {"from", "job.toml:3"}}));
  CHECK(pass(report, 3)["reason"] == "its own target keeps it (job.toml:3)");
}

TEST_CASE("the page tells what was asked of each pass and where", "[target]") {
  Folder const folder;
  std::string const job = folder.write(
      "job.toml",
      "tools = \"workshop\"\nfinish = \"cusp:5um\"\n[[target]]\npass = \"3\"\nfinish = \"ra:0.8um\"\n");
  REQUIRE(run_program({"rewrite", source_file(yoke), "--job", job, "-o", folder.path("out.nc"), "--report",
                       folder.path("out.html")})
              .status == 0);
  CHECK_THAT(content_of(folder.path("out.html")),
             Contains("<p>Finish asked for: <b>ra:0.8um</b>, by job.toml:3.</p>") &&
                 Contains("<p>Finish asked for: <b>cusp:5um</b>, for all passes.</p>"));
}

TEST_CASE("levels under cutter compensation are left as they were, and that is told", "[target]") {
  Folder const folder;
  std::string const program =
      folder.write("cap.nc", std::regex_replace(changed_cap("^G1 Z-0\\.1 F150\\.", "G41 D3\n$&"),
                                                std::regex("^G0 Z15\\.$", std::regex::multiline), "G40\n$&"));
  auto const report = rewrite(folder, program, "finish = \"cusp:2um\"\n");
  CHECK(report.value["passes"].empty());
  CHECK_THAT(report.run.err,
             Contains("cuts at 30 heights") && Contains("under cutter compensation (G41, G42)"));
  CHECK_THAT(content_of(folder.path("out.nc")), Contains("G41 D3"));
}

TEST_CASE("levels with a rotary axis in every contour are left as they were, and that is told", "[target]") {
  Folder const folder;
  // On every cut of the contours and leads.
  std::string const program = folder.write("cap.nc", changed_cap("^(G[123] [XY].*)$", "$1 A0."));
  auto const report = rewrite(folder, program, "finish = \"cusp:2um\"\n");
  for (json const& each : report.value["passes"])
    CHECK(each["status"] == "kept");
  CHECK_THAT(report.run.err, Contains("a rotary axis is named among them"));
}

TEST_CASE("a pass of a tool whose cusps are not known is kept with what is needed", "[target]") {
  Folder const folder;
  std::string const program = source_file("fixtures/bell-cap/program.nc");
  for (auto const& [tool, words] : {std::pair{"T3 = drill 3", "is not a flat, ball or bull mill"},
                                    std::pair{"T4 = ball 3", "is not in the tool table"}}) {
    Run const run = run_program({"rewrite", program, "--tool", tool, "--tool", "T9 = flat 9", "--finish",
                                 "cusp:2um", "-o", folder.path("out.nc")});
    INFO(run.err);
    CHECK(run.status == 0);
    CHECK_THAT(run.err, Contains("pass 1 was left as it was") && Contains(words));
  }
}

TEST_CASE("a place that the control alone knows in the middle of a stack is refused or keeps the stack apart",
          "[target]") {
  Folder const folder;
  // Home in X and Y before a level: where the next arc begins is not known.
  std::string const program = folder.write("cap.nc", changed_cap("^G1 Z-1\\.5 F150\\.", "G28 X0. Y0.\n$&"));
  Run const run = run_program(
      {"rewrite", program, "--tools", "workshop", "--finish", "cusp:2um", "-o", folder.path("out.nc")});
  CHECK(run.status == 1);
  CHECK_FALSE(folder.has("out.nc"));
  CHECK_THAT(run.err, Contains("an arc from an unknown"));
}

TEST_CASE("levels above the first are added where the option or the job says so", "[target][extend]") {
  Folder const folder;
  std::string const finish = "finish = \"cusp:2um\"\n";
  auto const plain = rewrite(folder, source_file(yoke), finish);
  CHECK(pass(plain, 3)["extended"] == json({{"levels", 0}, {"height_mm", 0.0}}));
  CHECK(pass(plain, 3)["uncovered_mm"].get<double>() == Approx(0.1).margin(0.0001));

  auto const all = rewrite(folder, source_file(yoke), finish + "extend = true\n");
  CHECK(pass(all, 3)["extended"]["levels"] == 8);
  CHECK(pass(all, 3)["extended"]["height_mm"] == 0.1);
  CHECK_THAT(all.run.out, Contains("8 levels above the program's first, 0.1 mm up to tangency"));
  CHECK_THAT(all.run.err, Contains("cuts 8 levels above its first"));
  // No round begins the other passes.
  CHECK(pass(all, 4)["extended"]["levels"] == 0);
  CHECK(!pass(all, 4)["extended"].contains("reason"));

  auto const but_one = rewrite(folder, source_file(yoke),
                               finish + "extend = true\n[[target]]\npass = \"3\"\nextend = false\n");
  CHECK(pass(but_one, 3)["extended"]["levels"] == 0);
  CHECK(pass(but_one, 3)["after"]["levels"] == pass(plain, 3)["after"]["levels"]);
  auto const one_alone =
      rewrite(folder, source_file(yoke), finish + "[[target]]\ntool = \"T3\"\nextend = true\n");
  CHECK(pass(one_alone, 3)["extended"]["levels"] == 8);
}

TEST_CASE("the option --extend is the key extend of a job, and wants something to step by",
          "[target][extend]") {
  Folder const folder;
  Run const run = run_program({"rewrite", source_file("fixtures/bell-cap/program.nc"), "--tools", "workshop",
                               "--finish", "cusp:2um", "--extend", "-o", folder.path("out.nc")});
  CHECK(run.status == 0);
  CHECK_THAT(run.out, Contains("levels above the program's first"));
  Run const nothing = run_program({"rewrite", source_file("fixtures/bell-cap/program.nc"), "--tools",
                                   "workshop", "--extend", "-o", folder.path("other.nc")});
  CHECK(nothing.status == 2);
  CHECK_THAT(nothing.err, Contains("--finish"));
  std::string const job =
      folder.write("job.toml", "finish = \"cusp:2um\"\n[[target]]\npass = \"1\"\nextend = 1\n");
  Run const wrong = run_program({"rewrite", source_file("fixtures/bell-cap/program.nc"), "--job", job});
  CHECK(wrong.status == 2);
  CHECK_THAT(wrong.err, Contains("true or false") && Contains(":4:"));
}

TEST_CASE("what cannot be extended says why in every report", "[target][extend]") {
  Folder const folder;
  auto const report =
      rewrite(folder, source_file("fixtures/spiral/program.nc"), "finish = \"cusp:2um\"\nextend = true\n");
  CHECK(pass(report, 1)["extended"]["levels"] == 0);
  CHECK_THAT(pass(report, 1)["extended"]["reason"].get<std::string>(), Contains("spiral"));
  CHECK_THAT(report.run.err, Contains("pass 1 was not extended: it is a spiral"));
  CHECK_THAT(report.run.out, Contains("not: it is a spiral"));
}
