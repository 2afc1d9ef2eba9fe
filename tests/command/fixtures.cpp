#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <filesystem>
#include <fstream>

using namespace restep::command;
using nlohmann::json;

namespace {

std::vector<std::string> parts(bool bad) {
  std::vector<std::string> names;
  for (auto const& entry : std::filesystem::directory_iterator(source_file("fixtures"))) {
    std::string const name = entry.path().filename().string();
    if (std::filesystem::exists(entry.path() / "program.nc") && name.starts_with("bad-") == bad)
      names.push_back(name);
  }
  std::sort(names.begin(), names.end());
  REQUIRE(names.size() > 3);
  return names;
}

std::string program_of(std::string const& part) {
  return source_file("fixtures/" + part + "/program.nc");
}

} // namespace

TEST_CASE("every faulty program is refused and nothing is written", "[fixtures]") {
  for (std::string const& part : parts(true)) {
    Folder const folder;
    Run const run = run_program({"rewrite", program_of(part), "-o", folder.path("out.nc")});
    INFO(part << '\n' << run.err);
    CHECK(run.status == 1);
    CHECK(folder.files() == 0);
    CHECK(run.err.find("program.nc:") != std::string::npos);
  }
}

TEST_CASE("every part can be rewritten without a finish and keeps its cut", "[fixtures]") {
  for (std::string const& part : parts(false)) {
    Folder const folder;
    std::string const out = folder.path("out.nc");
    Run const run = run_program({"rewrite", program_of(part), "--tools", "workshop", "-o", out});
    INFO(part << '\n' << run.err << run.out);
    REQUIRE(run.status == 0);
    Run const compared = run_program({"compare", program_of(part), out});
    INFO(compared.out);
    CHECK(compared.status == 0);
  }
}

TEST_CASE("every part goes onto both machines and is read back", "[fixtures]") {
  for (std::string const& part : parts(false)) {
    for (std::string const machine : {"bench-mill", "column-mill"}) {
      Folder const folder;
      Run const run =
          run_program({"rewrite", program_of(part), "--machine", machine, "--tools", "workshop", "--finish",
                       "cusp:2um", "-o", folder.path("out.nc"), "--json", folder.path("out.json")});
      INFO(part << " on " << machine << '\n' << run.err << run.out);
      CHECK(run.status == 0);
      if (run.status != 0) continue;
      json const report = json::parse(content_of(folder.path("out.json")));
      CHECK(report["proof"]["motions"] > 10);
      CHECK(report["proof"]["read_back_um"] <= 3.5); // chords of 2 um and rounding
    }
  }
}

namespace {

/// Machines that differ in their control alone: one for each dialect that is shipped.
std::string machine_that_speaks(std::string const& dialect, bool changer, Folder const& folder) {
  std::string const file = folder.path("machine-" + dialect + ".toml");
  std::ofstream(file) << "profile = \"machine\"\ntitle = \"a mill\"\ndialect = \"" << dialect
                      << "\"\n[retract]\nhow = \"clearance\"\nclearance = 10\n[tools]\nchange = \""
                      << (changer ? "automatic" : "by_hand") << "\"\n";
  return file;
}

std::vector<std::string> shipped_dialects() {
  std::vector<std::string> names;
  for (auto const& entry : std::filesystem::directory_iterator(source_file("profiles/dialects")))
    names.push_back(entry.path().stem().string());
  std::sort(names.begin(), names.end());
  return names;
}

} // namespace

TEST_CASE("every part is written in every shipped dialect, and the cut is the same one", "[fixtures]") {
  std::vector<std::string> const dialects = shipped_dialects();
  REQUIRE(dialects.size() >= 5);
  for (std::string const& part : parts(false)) {
    for (std::string const& dialect : dialects) {
      Folder const folder;
      bool const changer = !dialect.starts_with("small-firmware");
      std::string const out = folder.path("out.nc");
      Run const run =
          run_program({"rewrite", program_of(part), "--machine",
                       machine_that_speaks(dialect, changer, folder), "--tools", "workshop", "-o", out});
      INFO(part << " in " << dialect << '\n' << run.err << run.out);
      CHECK(run.status == 0);
      if (run.status != 0) continue;
      // Chords within 2 um, and the third decimal at both ends of a move.
      Run const compared =
          run_program({"compare", program_of(part), out, "--from-b", dialect, "--tol", "4um"});
      INFO(compared.out << compared.err);
      CHECK(compared.status == 0);
    }
  }
}
