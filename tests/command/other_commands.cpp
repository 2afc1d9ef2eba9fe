#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

using namespace restep::command;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

constexpr char const* small_plate =
    "G21 G90\nT1 M6\nS5000 M3\nG0 X0 Y0 Z5\nG1 Z-1 F200\nG1 X30 F400\nG0 Z5\nM5\nM30\n";

} // namespace

TEST_CASE("inspect tells tools and extents", "[inspect]") {
  Folder const folder;
  Run const run = run_program({"inspect", folder.write("plate.nc", small_plate), "--tool", "T1 = flat 6"});
  INFO(run.err);
  CHECK(run.status == 0);
  CHECK_THAT(run.out, Contains("T1 flat 6") && Contains("X 0 to 30") && Contains("Z -1 to 5"));
}

TEST_CASE("inspect refuses what it does not understand", "[inspect]") {
  Run const run = run_program({"inspect", "-"}, "G1 X\n");
  CHECK(run.status == 1);
  CHECK_THAT(run.err, Contains("standard input:1:"));
}

TEST_CASE("inspect gives the same figures as JSON", "[inspect]") {
  Run const run = run_program({"inspect", "-", "--json", "-"}, small_plate);
  CHECK(run.status == 0);
  json const report = json::parse(run.out);
  CHECK(report["motions"] == 4);
  CHECK(report["tools"][0]["number"] == 1);
  CHECK(report["extents"]["cutting"]["x_mm"] == json({0, 30}));
  CHECK(report["output"].is_null());
  CHECK(report["proof"].is_null());
}

TEST_CASE("inspect finds the same however it reads, and what a rewrite finds that asks for nothing",
          "[inspect]") {
  Folder const folder;
  // Passes of every kind, and all in one program: two of them would stand in another order if those that are
  // described aside came last.
  std::string all;
  for (char const* fixture : {"bell-cap", "crown-x", "spiral", "inch", "organic-wall", "crown-30"}) {
    std::string const program = source_file(std::string("fixtures/") + fixture + "/program.nc");
    std::string one = content_of(program);
    if (std::string_view(fixture) != "inch") all += one.substr(0, one.rfind("M30"));
    auto const passes_of = [&](std::vector<std::string> line) {
      line.insert(line.end(), {"--tools", "workshop", "--json", folder.path("report.json")});
      Run const run = run_program(line);
      INFO(run.err);
      REQUIRE(run.status == 0);
      json report = json::parse(content_of(folder.path("report.json")));
      for (json& pass : report["passes"])
        for (char const* rewritten : {"reason", "constant", "target", "surface_bound_um"})
          pass.erase(rewritten);
      return report["passes"];
    };
    json const plain = passes_of({"inspect", program});
    INFO(fixture);
    CHECK_FALSE(plain.empty());
    CHECK(passes_of({"inspect", program, "--report", folder.path("page.html")}) == plain);
    CHECK(passes_of({"rewrite", program, "-o", folder.path("out.nc")}) == plain);
  }
  all += "M30\n";
  Run const run = run_program(
      {"inspect", folder.write("all.nc", all), "--tools", "workshop", "--json", folder.path("all.json")});
  INFO(run.err);
  json const passes = json::parse(content_of(folder.path("all.json")))["passes"];
  REQUIRE(passes.size() == 5);
  for (std::size_t i = 0; i < passes.size(); ++i) {
    CHECK(passes[i]["index"] == i + 1);
    CHECK((i == 0 || passes[i]["lines"][0] > passes[i - 1]["lines"][1]));
  }
  CHECK(passes[1]["shape"] == "parallel pass");
  CHECK(passes[2]["shape"] == "spiral");
}

TEST_CASE("compare says that a program is the same as itself", "[compare]") {
  Folder const folder;
  std::string const a = folder.write("a.nc", small_plate);
  Run const run = run_program({"compare", a, a});
  CHECK(run.status == 0);
  CHECK_THAT(run.out, Contains("the same cut\n"));
}

TEST_CASE("compare shows the two blocks where the ways part", "[compare]") {
  Folder const folder;
  std::string other = small_plate;
  other.replace(other.find("X30"), 3, "X30.01");
  std::string const a = folder.write("a.nc", small_plate), b = folder.write("b.nc", other);
  Run const run = run_program({"compare", a, b});
  CHECK(run.status == 1);
  CHECK_THAT(run.out, Contains("a.nc:6: G1 X30 F400\n") && Contains("b.nc:6: G1 X30.01 F400\n"));
  CHECK(run_program({"compare", a, b, "--tol", "20um"}).status == 0);
  Run const as_json = run_program({"compare", a, b, "--json", "-"});
  CHECK(as_json.status == 1);
  CHECK(json::parse(as_json.out)["differences"][0]["line_a"] == 6);
}

TEST_CASE("compare tells where the largest deviation is", "[compare]") {
  Folder const folder;
  std::string other = small_plate;
  other.replace(other.find("X30"), 3, "X30 Y0.004");
  std::string const a = folder.write("a.nc", small_plate), b = folder.write("b.nc", other);
  json const result = json::parse(run_program({"compare", a, b, "--tol", "5um", "--json", "-"}).out);
  CHECK(result["same"] == true);
  CHECK(result["deviation_um"] == 4);
  CHECK(result["deviation_line_a"] == 6);
  CHECK(result["deviation_line_b"] == 6);
  CHECK(result["deviation_at_mm"][0].get<double>() == Approx(30));
}

TEST_CASE("the page of a comparison has both programs, both blocks and both ways", "[compare]") {
  Folder const folder;
  std::string other = small_plate;
  other.replace(other.find("X30"), 3, "X30.01");
  other.replace(other.find("S5000"), 5, "S4000");
  std::string const a = folder.write("a.nc", small_plate), b = folder.write("b<&.nc", other);
  CHECK(run_program({"compare", a, b, "--report", folder.path("page.html")}).status == 1);
  std::string const page = content_of(folder.path("page.html"));
  CHECK_THAT(page, Contains("the ways part") && Contains("<code>G1 X30 F400</code>") &&
                       Contains("<code>G1 X30.01 F400</code>") && Contains("A S5000, B S4000") &&
                       Contains("b&lt;&amp;.nc") && !Contains("b<&.nc"));
  CHECK_THAT(page, Contains("id=\"plan\"") && Contains("id=\"side\"") && Contains("path way-a") &&
                       Contains("path way-b") && Contains("id=\"cautions\""));
  CHECK(run_program({"compare", a, a, "--report", folder.path("same.html")}).status == 0);
  CHECK_THAT(content_of(folder.path("same.html")),
             Contains("</span> The same cut.</p>") && Contains("<p>None.</p>"));
  CHECK(run_program({"compare", a, a, "--report", "-"}).status == 2);
}

TEST_CASE("compare knows a program that stands elsewhere by its shift", "[compare]") {
  Folder const folder;
  std::string const a = folder.write("a.nc", small_plate);
  std::string const b = folder.write(
      "b.nc",
      "G20 G90 G56\nT1 M6\nS5000 M3\nG0 X1 Y-1 Z.19685\nG1 Z-.03937 F7.874\nX2.1811 F15.748\nG0 Z1\nM30\n");
  CHECK(run_program({"compare", a, b}).status == 1);
  CHECK(run_program({"compare", a, b, "--shift", "X25.4 Y-25.4"}).status == 0);
  Run const run = run_program({"compare", a, b, "--shift", "X1in Y-1in", "--json", "-"});
  CHECK(run.status == 0);
  CHECK(json::parse(run.out)["shift_mm"] == json({25.4, -25.4, 0.0}));
  CHECK(run_program({"compare", a, b, "--shift", "X25.41 Y-25.4"}).status == 1);
  CHECK(run_program({"compare", a, b, "--shift", "W3"}).status == 2);
  CHECK(run_program({"compare", a, b, "--shift", ""}).status == 1);
}

TEST_CASE("compare leaves out what one of the controls cannot say, and says so", "[compare]") {
  Folder const folder;
  std::string const a = folder.write("a.nc", small_plate);
  std::string const b =
      folder.write("b.nc", "G21 G90\nS5000 M3\nG0 X0 Y0 Z5\nG1 Z-1 F200\nG1 X30 F400\nG0 Z5\nM5\n");
  Run const strict = run_program({"compare", a, b});
  CHECK(strict.status == 1);
  CHECK_THAT(strict.out, Contains("tool: A T1, B T0"));
  Run const run = run_program({"compare", a, b, "--from-b", "small-firmware"});
  CHECK(run.status == 0);
  CHECK_THAT(run.out, Contains("left out") && Contains("tool"));
}

TEST_CASE("compare needs two programs that can be read", "[compare]") {
  Folder const folder;
  std::string const a = folder.write("a.nc", small_plate);
  CHECK(run_program({"compare", a}).status == 2);
  CHECK(run_program({"compare", a, folder.path("none.nc")}).status == 3);
  CHECK(run_program({"compare", a, folder.write("bad.nc", "G1 X\n")}).status == 1);
  CHECK(run_program({"compare", a, a, "--tol", "1"}).status == 2);
}

TEST_CASE("steps gives levels that meet the target", "[steps]") {
  for (std::string const surface :
       {"round 1.5", "fillet 3", "draft 3deg height 10", "chamfer 45deg height 2", "round 0.06in"}) {
    Run const run = run_program(
        {"steps", "--tool", "bull 3 r0.3", "--surface", surface, "--finish", "cusp:1um", "--json", "-"});
    INFO(surface << run.err);
    REQUIRE(run.status == 0);
    json const table = json::parse(run.out);
    REQUIRE(table["levels"].size() > 2);
    CHECK(table["levels"].size() <= table["constant"]["levels"]);
    for (json const& level : table["levels"]) {
      if (!level["cusp_um"].is_null()) CHECK(level["cusp_um"] <= 1.0005);
    }
  }
}

TEST_CASE("the levels of a round end where the round ends", "[steps]") {
  Run const run = run_program(
      {"steps", "--tool", "bull 3 r0.3", "--surface", "round 1.5", "--finish", "cusp:1um", "--json", "-"});
  json const levels = json::parse(run.out)["levels"];
  CHECK(levels.front()["z_mm"] == 0.0);
  CHECK(levels.front()["angle_deg"] == 0.0);
  // The tip goes R + r below the top face and R + r away from where the round begins.
  CHECK(levels.back()["z_mm"] == -1.8);
  CHECK(levels.back()["d_mm"] == 1.8);
  CHECK(levels.back()["angle_deg"] == 90.0);
}

TEST_CASE("a wall needs a stepdown because it has no cusp", "[steps]") {
  std::vector<std::string> arguments{"steps",          "--tool",   "flat 6",  "--surface",
                                     "wall height 10", "--finish", "cusp:1um"};
  Run run = run_program(arguments);
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("--max-stepdown"));
  arguments.insert(arguments.end(), {"--max-stepdown", "2mm"});
  run = run_program(arguments);
  CHECK(run.status == 0);
  CHECK_THAT(run.out, Contains("6 levels"));
}

TEST_CASE("steps refuses tools and surfaces it does not know", "[steps]") {
  auto const status = [](std::string const& tool, std::string const& surface) {
    return run_program({"steps", "--tool", tool, "--surface", surface, "--finish", "cusp:1um"}).status;
  };
  CHECK(status("drill 3", "round 1.5") == 2);
  CHECK(status("spoon 3", "round 1.5") == 2);
  CHECK(status("bull 3 r0.3", "sphere 1.5") == 2);
  CHECK(status("bull 3 r0.3", "round") == 2);
  CHECK(status("bull 3 r0.3", "fillet 0.2") == 2);
  CHECK(status("bull 3 r0.3", "draft 95deg height 2") == 2);
  CHECK(status("bull 3 r0.3", "draft 3deg") == 2);
}

TEST_CASE("the profiles that come with the program are without fault", "[profiles]") {
  Run const run = run_program({"profiles", "list", "--json", "-"});
  CHECK(run.status == 0);
  json const profiles = json::parse(run.out)["profiles"];
  CHECK(profiles.size() >= 5);
  for (json const& profile : profiles) {
    Run const checked = run_program({"profiles", "check", profile["file"]});
    INFO(checked.err);
    CHECK(checked.status == 0);
  }
}

TEST_CASE("a profile is shown and a mistyped one suggested", "[profiles]") {
  CHECK_THAT(run_program({"profiles", "show", "bench-mill"}).out, Contains("dialect"));
  Run const run = run_program({"profiles", "show", "bench-mil"});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("did you mean 'bench-mill'?"));
}

TEST_CASE("a profile with a fault is told with its place", "[profiles]") {
  Folder const folder;
  std::string const file =
      folder.write("my-mill.toml", "profile = \"machine\"\ndialect = \"rs274ngc\"\ncolour = 3\n");
  Run const run = run_program({"profiles", "check", file});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("my-mill.toml:3:"));
}
