#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

using namespace restep::command;
using Catch::Matchers::Contains;

namespace {

std::string yoke_program() {
  return source_file("fixtures/bell-yoke/program.nc");
}

} // namespace

TEST_CASE("a report that cannot be written is known before the work, and nothing else is written",
          "[report]") {
  Folder const folder;
  std::string const program = source_file("fixtures/bell-cap/program.nc");
  for (std::string const& nowhere : {folder.path("no folder/report.x"), folder.path(".")})
    for (std::string const option : {"--json", "--report"}) {
      INFO(option << ' ' << nowhere);
      for (std::vector<std::string> line :
           {std::vector<std::string>{"rewrite", program, "-o", folder.path("out.nc")},
            {"inspect", program},
            {"compare", program, program}}) {
        line.insert(line.end(), {option, nowhere});
        Run const run = run_program(line);
        INFO(run.err);
        CHECK(run.status == 3);
        CHECK_THAT(run.err, Contains(nowhere));
        CHECK(run.out.empty());
        CHECK(folder.files() == 0);
      }
    }
}

TEST_CASE("the HTML report tells the same figures as the JSON", "[report]") {
  Folder folder;
  std::string const html = folder.path("yoke.html"), json = folder.path("yoke.json");
  Run const run = run_program({"rewrite", yoke_program(), "--tools", "workshop", "--finish", "cusp:2um", "-o",
                               folder.path("out.nc"), "--report", html, "--json", json});
  REQUIRE(run.status == 0);
  std::string const page = content_of(html);
  auto const report = nlohmann::json::parse(content_of(json));
  CHECK(page.size() < 2'000'000);
  CHECK_THAT(page, Contains(fmt::format("{} motions read back", report["proof"]["motions"].get<int>())));
  CHECK_THAT(page,
             Contains(fmt::format("<b data-figure=\"edits_made\">{}</b>", report["edits_made"].get<int>())));
  for (auto const& pass : report["passes"]) {
    if (pass["status"] != "restepped") continue;
    CHECK_THAT(page, Contains(fmt::format("before: {} levels", pass["before"]["levels"].get<int>())));
    CHECK_THAT(page, Contains(fmt::format("after: {} levels", pass["after"]["levels"].get<int>())));
    CHECK_THAT(page, Contains(fmt::format("<b>{} um</b>", pass["peak_um"].dump())));
    CHECK_THAT(page, Contains(fmt::format("<b>{} um</b>", pass["written_cusp_um"].dump())));
  }
}

TEST_CASE("inspect makes a report without an after", "[report]") {
  Folder folder;
  std::string const html = folder.path("yoke.html");
  REQUIRE(run_program({"inspect", yoke_program(), "--tools", "workshop", "--report", html}).status == 0);
  std::string const page = content_of(html);
  CHECK_THAT(page, Contains("as it is: 75 levels") && !Contains("after: "));
}

TEST_CASE("a refused program still gets its report, which says so", "[report]") {
  Folder folder;
  std::string const html = folder.path("bad.html");
  Run const run = run_program({"rewrite", source_file("fixtures/bad-no-feed/program.nc"), "-o",
                               folder.path("out.nc"), "--report", html});
  CHECK(run.status == 1);
  CHECK_FALSE(folder.has("out.nc"));
  CHECK_THAT(content_of(html), Contains("Refused, nothing was written"));
}

TEST_CASE("a report that cannot be written is told with status 3", "[report]") {
  Folder folder;
  Run const run = run_program({"inspect", yoke_program(), "--report", folder.path("no/such/folder.html")});
  CHECK(run.status == 3);
}

TEST_CASE("a report is about one program and wants a file", "[report]") {
  Folder folder;
  CHECK(run_program({"rewrite", yoke_program(), yoke_program(), "--out-dir", folder.path("out"), "--report",
                     "a.html"})
            .status == 2);
  CHECK(run_program({"rewrite", yoke_program(), "-o", folder.path("out.nc"), "--report", "-"}).status == 2);
  CHECK(run_program({"inspect", yoke_program(), "--report", "-"}).status == 2);
}

TEST_CASE("quiet leaves warnings and errors, verbose adds the edits", "[report]") {
  Folder folder;
  std::vector<std::string> const arguments{"rewrite",   yoke_program(), "--tools", "workshop",
                                           "--machine", "column-mill",  "-o",      folder.path("out.nc")};
  auto const with = [&](std::string const& option) {
    std::vector<std::string> all = arguments;
    all.push_back(option);
    return run_program(all);
  };
  Run const plain = run_program(arguments), quiet = with("--quiet"), verbose = with("--verbose");
  CHECK(quiet.out.empty());
  CHECK_THAT(quiet.err, Contains("warning:") && !Contains("note:"));
  CHECK_THAT(verbose.out, Contains("clamp-spindle:"));
  CHECK(verbose.out.substr(0, plain.out.size()) == plain.out);
  CHECK(run_program({"compare", yoke_program(), yoke_program(), "--quiet"}).out.empty());
}

TEST_CASE("no colour goes to what is not a terminal", "[report]") {
  Run const run = run_program({"rewrite", source_file("fixtures/bad-no-feed/program.nc")});
  CHECK(run.err.find('\033') == std::string::npos);
}
