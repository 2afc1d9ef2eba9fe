#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include <filesystem>
#include <set>
#include <sys/stat.h>

using namespace restep::command;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

constexpr char const* plate = R"(%
(striker plate)
G21 G90 G17 G40 G94
G53 G0 Z0
T1 M6
S5000 M3
G0 Z20
X0 Y0
G1 Z-1 F200
G1 X30 F400
G2 X40 Y-10 I0 J-10
G1 Y-30
G0 Z20
M5
M9
M30
%
)";

} // namespace

TEST_CASE("a program without faults comes out as it went in", "[rewrite]") {
  Folder const folder;
  std::string const in = folder.write("plate.nc", plate);
  Run const run = run_program({"rewrite", in, "-o", folder.path("out.nc")});
  INFO(run.err);
  CHECK(run.status == 0);
  CHECK(content_of(folder.path("out.nc")) == plate);
  CHECK(content_of(in) == plate);
  CHECK(folder.files() == 2);
  CHECK_THAT(run.out, Contains("read back") && Contains("motions agree"));
}

TEST_CASE("without -o the program goes to standard output and the summary does not", "[rewrite]") {
  Folder const folder;
  Run const run = run_program({"rewrite", folder.write("plate.nc", plate)});
  CHECK(run.status == 0);
  CHECK(run.out == plate);
  CHECK_THAT(run.err, Contains("read back"));
}

TEST_CASE("a program comes from standard input", "[rewrite]") {
  Run const run = run_program({"rewrite", "-"}, plate);
  CHECK(run.status == 0);
  CHECK(run.out == plate);
}

TEST_CASE("a program that is not understood is refused with line and caret and nothing is written",
          "[rewrite]") {
  Folder const folder;
  std::string text = plate;
  text.replace(text.find("G1 X30 F400"), 11, "G1 X Y12.5");
  Run const run = run_program({"rewrite", folder.write("bad.nc", text), "-o", "out.nc"}, {}, folder.path());
  CHECK(run.status == 1);
  CHECK(run.out.empty());
  CHECK_THAT(run.err, Contains("bad.nc:10:") && Contains("error:") && Contains("G1 X Y12.5") &&
                          Contains("^") && Contains("nothing was written"));
  CHECK(folder.files() == 1);
}

TEST_CASE("all faults of a program are told in one run", "[rewrite]") {
  Folder const folder;
  std::string text = plate;
  text.replace(text.find("G1 X30 F400"), 11, "G1 X Y12.5");
  text.replace(text.find("G1 Y-30"), 7, "G1 Y");
  Run const run = run_program({"rewrite", folder.write("bad.nc", text)});
  CHECK(run.status == 1);
  CHECK_THAT(run.err, Contains(":10:") && Contains(":12:"));
}

TEST_CASE("a refused program leaves an older output as it was", "[rewrite]") {
  Folder const folder;
  std::string const out = folder.write("out.nc", "older\n");
  CHECK(run_program({"rewrite", folder.write("bad.nc", "G1 X\n"), "-o", out}).status == 1);
  CHECK(content_of(out) == "older\n");
}

TEST_CASE("a program that is not there is file trouble", "[rewrite]") {
  Folder const folder;
  Run const run = run_program({"rewrite", folder.path("none.nc"), "-o", folder.path("out.nc")});
  CHECK(run.status == 3);
  CHECK_THAT(run.err, Contains("none.nc"));
  CHECK(folder.files() == 0);
}

TEST_CASE("an output folder that is not there is file trouble", "[rewrite]") {
  Folder const folder;
  CHECK(run_program({"rewrite", folder.write("plate.nc", plate), "-o", folder.path("no/out.nc")}).status ==
        3);
}

TEST_CASE("the output is never the program unless that was asked for", "[rewrite]") {
  Folder const folder;
  std::string const in = folder.write("plate.nc", plate);
  Run const run = run_program({"rewrite", in, "-o", in});
  CHECK(run.status == 3);
  CHECK(content_of(in) == plate);
  CHECK(run_program({"rewrite", in, "--in-place"}).status == 0);
  CHECK(content_of(in) == plate);
  CHECK(folder.files() == 1);
}

TEST_CASE("several programs are written independently of each other", "[rewrite]") {
  Folder const folder;
  std::string const good = folder.write("good.nc", plate), bad = folder.write("bad.nc", "G1 X\n");
  Run const run = run_program({"rewrite", bad, good, "--out-dir", folder.path("out")});
  CHECK(run.status == 1);
  CHECK(content_of(folder.path("out/good.nc")) == plate);
  CHECK_FALSE(folder.has("out/bad.nc"));
  CHECK_THAT(run.out, Contains("refused") && Contains("written"));
  CHECK(run_program({"rewrite", good, "--out-dir", folder.path("out")}).status == 0);
}

TEST_CASE("several programs without a folder for the results are wrong usage", "[rewrite]") {
  Folder const folder;
  std::string const a = folder.write("a.nc", plate), b = folder.write("b.nc", plate);
  CHECK(run_program({"rewrite", a, b}).status == 2);
  CHECK(run_program({"rewrite", a, b, "-o", folder.path("c.nc")}).status == 2);
}

TEST_CASE("two programs that would get the same name are wrong usage", "[rewrite]") {
  Folder const folder;
  std::filesystem::create_directory(folder.path("b"));
  std::string const a = folder.write("a.nc", plate), b = folder.write("b/a.nc", plate);
  Run const run = run_program({"rewrite", a, b, "--out-dir", folder.path("out")});
  CHECK(run.status == 2);
  CHECK_FALSE(folder.has("out"));
}

TEST_CASE("wrong values are wrong usage and say what was expected", "[rewrite]") {
  Folder const folder;
  std::string const in = folder.write("plate.nc", plate);
  auto const refused = [&](std::vector<std::string> const& options, std::string const& words) {
    std::vector<std::string> arguments{"rewrite", in, "-o", folder.path("out.nc")};
    arguments.insert(arguments.end(), options.begin(), options.end());
    Run const run = run_program(arguments);
    INFO(options.front());
    CHECK(run.status == 2);
    CHECK_THAT(run.err, Contains(words));
    CHECK(folder.files() == 1);
  };
  refused({"--finish", "smooth"}, "smooth");
  refused({"--max-stepdown", "0.1"}, "no unit");
  refused({"--min-stepdown", "1mm", "--max-stepdown", "0.5mm"}, "larger");
  refused({"--pass", "0"}, "pass numbers");
  refused({"--tool", "bull 3"}, "T3 = bull 3 r0.3");
  refused({"--skip", "clamp-feed"}, "did you mean 'clamp-feeds'?");
  refused({"--machine", "bench-mil"}, "did you mean 'bench-mill'?");
  refused({"--from", "rs274"}, "rs274ngc");
}

TEST_CASE("the program may follow an option that can be repeated", "[rewrite]") {
  for (std::vector<std::string> const& options : {std::vector<std::string>{"--machine", "column-mill"},
                                                  {"--tool", "T3 = bull 3 r0.3"},
                                                  {"--skip", "all"},
                                                  {"--with", "join-lines"},
                                                  {"--offset", "G54 = X9 Y8 Z-7"}}) {
    Folder const folder;
    std::vector<std::string> arguments{"rewrite"};
    arguments.insert(arguments.end(), options.begin(), options.end());
    arguments.insert(arguments.end(),
                     {source_file("fixtures/bell-cap/program.nc"), "-o", folder.path("out.nc")});
    Run const run = run_program(arguments);
    INFO(options.front() << '\n' << run.err);
    CHECK(run.status == 0);
    CHECK(folder.files() == 1);
  }
}

TEST_CASE("a retract to the height to which the program goes next is no contradiction", "[rewrite]") {
  Folder const folder;
  std::string const in =
      folder.write("low.nc", "G21 G90 G17\nT1 M6\nS5000 M3\nG0 Z5\nG0 X39.5 Y0\nG1 Z-1 F200\n"
                             "G1 X45 F600\nG0 Z5\nM5\nM30\n");
  Run const run = run_program({"rewrite", in, "-o", folder.path("out.nc")});
  INFO(run.out << run.err);
  CHECK(run.status == 0);
  CHECK_THAT(run.out, Contains("1 inserted"));
  CHECK(run_program({"compare", in, folder.path("out.nc")}).status == 0);
}

TEST_CASE("the JSON tells what was read back", "[rewrite]") {
  Folder const folder;
  std::string const in = folder.write("plate.nc", plate);
  Run const run = run_program({"rewrite", in, "-o", folder.path("out.nc"), "--json", "-"});
  CHECK(run.status == 0);
  json const report = json::parse(run.out);
  CHECK(report["program"] == in);
  CHECK(report["output"] == folder.path("out.nc"));
  CHECK(report["proof"]["motions"] == 7);
  CHECK(report["proof"]["read_back_um"] == 0);
  CHECK(report["passes"].empty());
  CHECK_THAT(run.err, Contains("read back"));
}

TEST_CASE("the JSON of a refused program tells its findings and no output", "[rewrite]") {
  Folder const folder;
  Run const run =
      run_program({"rewrite", folder.write("bad.nc", "G1 X\n"), "-o", folder.path("out.nc"), "--json", "-"});
  CHECK(run.status == 1);
  json const report = json::parse(run.out);
  CHECK(report["output"].is_null());
  REQUIRE_FALSE(report["findings"].empty());
  CHECK(report["findings"][0]["severity"] == "error");
  CHECK(report["findings"][0]["line"] == 1);
}

TEST_CASE("program and JSON cannot both go to standard output", "[rewrite]") {
  Folder const folder;
  CHECK(run_program({"rewrite", folder.write("plate.nc", plate), "--json", "-"}).status == 2);
}

TEST_CASE("a job says what options say and options win over it", "[rewrite]") {
  Folder const folder;
  folder.write("plate.nc", plate);
  std::string const job =
      folder.write("job.toml", "program = \"plate.nc\"\noutput = \"out.nc\"\nfinish = \"cusp:2um\"\n");
  CHECK(run_program({"rewrite", "--job", job}).status == 0);
  CHECK(folder.has("out.nc"));
  CHECK(run_program({"rewrite", "--job", job, "-o", folder.path("other.nc")}).status == 0);
  CHECK(folder.has("other.nc"));
}

TEST_CASE("a job with an unknown key or a wrong value is refused with its place", "[rewrite]") {
  Folder const folder;
  folder.write("plate.nc", plate);
  Run run =
      run_program({"rewrite", "--job", folder.write("job.toml", "program = \"plate.nc\"\nfinsh = \"n5\"\n")});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("job.toml:2:") && Contains("did you mean 'finish'?"));
  run = run_program(
      {"rewrite", "--job",
       folder.write("job.toml", "program = \"plate.nc\"\n[[target]]\npass = \"1\"\nkeep = \"yes\"\n")});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("job.toml:4:") && Contains("true or false"));
  run = run_program({"rewrite", "--job", folder.write("job.toml", "program = \n")});
  CHECK(run.status == 2);
  CHECK(run_program({"rewrite", "--job", folder.path("none.toml")}).status == 3);
}

TEST_CASE("one program for two machines becomes two programs that are compared", "[rewrite]") {
  Folder const folder;
  std::string const yoke = source_file("fixtures/bell-yoke/program.nc");
  std::vector<std::string> const both{"rewrite", yoke, "--machine", "column-mill", "--machine", "bench-mill"};
  auto const with = [&](std::vector<std::string> const& more) {
    std::vector<std::string> all = both;
    all.insert(all.end(), more.begin(), more.end());
    return run_program(all);
  };
  Run const run = with({"-o", folder.path("yoke.nc"), "--report", folder.path("yoke.html"), "--json",
                        folder.path("yoke.json")});
  INFO(run.err);
  CHECK(run.status == 0);
  // What one machine alone would get is what it gets here.
  for (std::string const machine : {"column-mill", "bench-mill"}) {
    CHECK(folder.has("yoke." + machine + ".html"));
    CHECK(run_program({"rewrite", yoke, "--machine", machine, "-o", folder.path("alone.nc")}).status == 0);
    CHECK(content_of(folder.path("yoke." + machine + ".nc")) == content_of(folder.path("alone.nc")));
  }
  CHECK_FALSE(folder.has("yoke.nc"));
  auto const reports = nlohmann::json::parse(content_of(folder.path("yoke.json")));
  REQUIRE(reports.size() == 2);
  CHECK(reports[0]["machine"] == "column-mill");
  CHECK(reports[1]["machine"] == "bench-mill");
  CHECK_THAT(run.out, Contains("the same way within") && Contains("coolant: A flood, B mist"));
  CHECK_FALSE(reports[0].contains("comparison"));
  auto const& comparison = reports[1].at("comparison");
  CHECK(comparison.at("same_path") == true);
  CHECK(comparison.at("same") == false);
  CHECK(comparison.at("deviation_um") > 0);
  CHECK(comparison.at("deviation_um") <= comparison.at("tolerance_um"));
  CHECK(comparison.at("a").at("program") == folder.path("yoke.column-mill.nc"));
  CHECK(with({"--out-dir", folder.path("out"), "-q"}).out.empty());
  CHECK(folder.has("out/program.bench-mill.nc"));
  CHECK(with({}).status == 2);
  CHECK(with({"--in-place"}).status == 2);
  CHECK(with({"-o", folder.path("x.nc"), "--machine", "bench-mill"}).status == 2);
  CHECK(run_program({"inspect", yoke, "--machine", "column-mill", "--machine", "bench-mill"}).status == 2);
}

TEST_CASE("levels chosen for two controls' digits part the two programs, which is told and is no failure",
          "[rewrite]") {
  Folder const folder;
  Run const run = run_program({"rewrite", source_file("fixtures/draft/program.nc"), "--machine",
                               "column-mill", "--machine", "bench-mill", "--tools", "workshop", "--finish",
                               "cusp:2um", "-o", folder.path("wall.nc"), "--json", folder.path("wall.json")});
  CHECK(run.status == 0);
  CHECK_THAT(run.err, Contains("levels are chosen for each control's digits and proven for each"));
  auto const reports = nlohmann::json::parse(content_of(folder.path("wall.json")));
  CHECK(reports[1].at("comparison").at("same_path") == false);
  for (auto const& report : reports)
    CHECK(report.at("proof").at("cusp_um") < 2.5);
}

TEST_CASE("several programs are told in their order and one that fails stops no other", "[rewrite]") {
  Folder const folder;
  std::vector<std::string> arguments{"rewrite", "--out-dir", folder.path("out")};
  for (int k = 0; k < 6; ++k)
    arguments.push_back(
        folder.write("p" + std::to_string(k) + ".nc",
                     k == 2 ? "G1 X\n" : "G21 G90\nS500 M3\nG0 X0 Y0 Z5\nG1 Z-1 F100\nG0 Z5\nM30\n"));
  Run const run = run_program(arguments);
  CHECK(run.status == 1);
  std::size_t last = run.out.rfind("output "); // of the last summary; the table follows
  REQUIRE(last != std::string::npos);
  for (int k = 0; k < 6; ++k) {
    std::string const name = "p" + std::to_string(k) + ".nc";
    CHECK(folder.has("out/" + name) == (k != 2));
    std::size_t const place = run.out.find(name, last);
    CHECK(place != std::string::npos);
    last = place;
  }
  CHECK_THAT(run.err, Contains("p2.nc:1:"));
}

TEST_CASE("the table of several programs fits 80 columns however long their paths are", "[rewrite]") {
  Folder const folder;
  std::string const deep = folder.path(std::string(60, 'f') + "/" + std::string(60, 'g'));
  std::filesystem::create_directories(deep);
  std::filesystem::copy_file(source_file("fixtures/wall/program.nc"), deep + "/wall.nc");
  std::filesystem::copy_file(source_file("fixtures/bad-no-feed/program.nc"), deep + "/bad.nc");
  Run const run = run_program({"rewrite", deep + "/wall.nc", deep + "/bad.nc", "--out-dir", deep + "/out"});
  CHECK(run.status == 1);
  // A path has a line of its own: nothing else is behind it or before it.
  std::string const wall = "\n" + deep + "/out/wall.nc\n  written    ";
  std::size_t const at = run.out.find(wall);
  REQUIRE(at != std::string::npos);
  CHECK(run.out.find('\n', at + wall.size()) - at - wall.size() <= 80);
  CHECK_THAT(run.out.substr(at + wall.size(), 80), Contains(" -> "));
  CHECK_THAT(run.out, Catch::Matchers::EndsWith("\n" + deep + "/bad.nc\n  refused    nothing was written\n"));
  std::istringstream lines(run.out);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK((line.size() <= 80 || line.find(deep) != std::string::npos));
  }
}

TEST_CASE("passes are looked for where something is asked of them or a report tells of them", "[rewrite]") {
  Folder const folder;
  std::string const program = source_file("fixtures/bell-cap/program.nc");
  auto const rewritten = [&](std::vector<std::string> const& asked) {
    std::vector<std::string> line{"rewrite", program, "-o", folder.path("out.nc")};
    line.insert(line.end(), asked.begin(), asked.end());
    Run const run = run_program(line);
    INFO(run.err);
    CHECK(run.status == 0);
    return run.out;
  };
  CHECK_THAT(rewritten({}), Contains("passes     not looked for: nothing is asked of them\n"));
  CHECK_THAT(rewritten({"--machine", "bench-mill"}), Contains("passes     not looked for: nothing is asked"));
  CHECK_THAT(rewritten({"--finish", "cusp:2um", "--skip", "restep"}),
             Contains("passes     not looked for: the stage is left out\n"));
  for (std::vector<std::string> const& asked : {std::vector<std::string>{"--max-stepdown", "0.2mm"},
                                                {"--pass", "1"},
                                                {"--with", "edge-feeds"},
                                                {"--json", folder.path("out.json")},
                                                {"--report", folder.path("out.html")}}) {
    std::string const told = rewritten(asked);
    INFO(told);
    CHECK_THAT(told, Contains("pass 1 "));
    CHECK_THAT(told, !Contains("not looked for"));
  }
}

TEST_CASE("the whole part's job holds every table that a job can have, each line explained", "[job]") {
  std::istringstream lines(content_of(source_file("fixtures/bell-yoke/whole-part.toml")));
  std::set<std::string> tables;
  bool explained = true; // by a remark of its own, or by that of the heading or key above it
  for (std::string line; std::getline(lines, line);) {
    if (line.empty()) explained = false;
    if (line.starts_with('[')) tables.insert(line.substr(0, line.find_last_of(']') + 1));
    explained = explained || line.find('#') != std::string::npos;
    INFO(line);
    CHECK((line.empty() || explained));
  }
  CHECK(tables == std::set<std::string>{"[stock]", "[offsets]", "[lengths]", "[tool-map]", "[[target]]"});
}

TEST_CASE("the whole part's job alone does everything for both machines", "[job]") {
  Folder const folder;
  namespace fs = std::filesystem;
  fs::create_directories(folder.path("shop/part"));
  for (char const* name : {"program.nc", "whole-part.toml"})
    fs::copy_file(source_file(std::string("fixtures/bell-yoke/") + name),
                  folder.path(std::string("shop/part/") + name));
  Run const run = run_program({"rewrite", "--job", folder.path("shop/part/whole-part.toml")});
  INFO(run.err);
  CHECK(run.status == 0);
  for (std::string const machine : {"column-mill", "bench-mill"}) {
    CHECK(folder.has(".build/bell-yoke/program." + machine + ".nc"));
    CHECK(folder.has(".build/bell-yoke/report." + machine + ".html"));
  }
  auto const reports = nlohmann::json::parse(content_of(folder.path(".build/bell-yoke/report.json")));
  REQUIRE(reports.size() == 2);
  for (auto const& report : reports) {
    for (auto const& pass : report["passes"]) {
      INFO(pass["index"]);
      bool const changed = pass["status"] == "restepped";
      CHECK(changed == (pass["index"] == 3 || pass["index"] == 4));
      char const* const wanted[] = {nullptr, "cusp:2um", "cusp:2um", "ra:0.8um"};
      char const* const finish = wanted[pass["index"].get<std::size_t>() - 1];
      CHECK(pass["target"]["finish"] == (finish ? nlohmann::json(finish) : nlohmann::json()));
      CHECK((pass["target"]["from"] == "all passes") == (pass["index"] == 2));
    }
  }
}
