// Calls, loops, jumps and turned coordinates: kept as the program has them where nothing in them is changed.
#include "tests/command/run_program.hpp"
#include "tests/property/random_structure.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

using namespace restep;
using namespace restep::command;

namespace {

struct Rewritten {
  Run run;
  std::string text;
};

Rewritten rewrite(std::string const& program, std::vector<std::string> const& options = {"--skip", "all"}) {
  Folder const folder;
  std::vector<std::string> arguments{"rewrite", folder.write("part.nc", program), "-o",
                                     folder.path("out.nc")};
  arguments.insert(arguments.end(), options.begin(), options.end());
  Rewritten rewritten{run_program(arguments), {}};
  if (rewritten.run.status == 0) rewritten.text = content_of(folder.path("out.nc"));
  return rewritten;
}

std::string joined(std::vector<std::string> const& lines) {
  std::string program;
  for (auto const& line : lines)
    program += line + "\n";
  return program;
}

/// Messages are broken into lines: blanks and line ends are alike here.
bool said(Run const& run, std::string const& words) {
  std::string text;
  for (char const c : run.err) {
    char const shown = c == '\n' ? ' ' : c;
    if (shown != ' ' || (!text.empty() && text.back() != ' ')) text += shown;
  }
  return text.find(words) != std::string::npos;
}

constexpr char const* head = "%\nO1 (bell yoke)\nG21 G90 G17 G94 G54\nT1 M6\nS900 M3\nG0 X0 Y0 Z10\nF200\n";

} // namespace

TEST_CASE("a subprogram whose motion only the machine knows is kept too", "[structure]") {
  std::string const program =
      std::string(head) + "M98 P100 L2\nG0 X0 Y0 Z10\nM30\nO100\nG1 X#500\nG0 X1 Y1 Z1\nM99\n%\n";
  CHECK(rewrite(program).text == program);
}

TEST_CASE("random programs with calls and loops keep their cut when the stages are at work", "[structure]") {
  REQUIRE(rc::check([] {
    Folder const folder;
    auto const lines = property::StructuredProgrammer().program();
    std::string const program = folder.write("part.nc", joined(lines));
    Run const run = run_program({"rewrite", program, "-o", folder.path("out.nc")});
    if (run.status != 0) RC_FAIL(content_of(program) + run.err + run.out);
    Run const compared = run_program({"compare", program, folder.path("out.nc")});
    if (compared.status != 0)
      RC_FAIL(content_of(program) + "\n--- became ---\n" + content_of(folder.path("out.nc")) + compared.out);
  }));
}

TEST_CASE("a program with calls and loops is read back with them", "[structure]") {
  Folder const folder;
  std::string const program = folder.write(
      "part.nc", std::string(head) + "M98 P100 L3\nG0 Z10\n#1=0\nWHILE [#1 LT 4] DO 1\nG1 X#1 Y5\n#1=[#1+1]\n"
                                     "END 1\nG0 Z20\nM30\nO100\nG91 G1 Z-0.5\nG90 X10\nX0\nM99\n%\n");
  Run const run = run_program(
      {"rewrite", program, "--skip", "all", "-o", folder.path("out.nc"), "--json", folder.path("r.json")});
  INFO(run.err);
  REQUIRE(run.status == 0);
  auto const report = nlohmann::json::parse(content_of(folder.path("r.json")));
  CHECK(report["proof"]["motions"] == 1 + 3 * 3 + 1 + 4 + 1);
  CHECK(report["findings"].empty());
}

TEST_CASE("a dialect without calls gets the program flat, and the report says so", "[structure]") {
  std::string const program = std::string(head) +
                              "G1 Z0\nM98 P100\nG0 Z10\nM98 P200\nG0 Z20\nM30\n"
                              "O100\nG1 X10 F9000\nX0 F200\nM99\nO200\nG1 X5 F100\nX0\nM99\n%\n";
  std::vector<std::string> const options{"--machine", "bench-mill", "--from", "small-firmware-remarks"};
  auto const moved = rewrite(program, options);
  INFO(moved.run.err);
  REQUIRE(moved.run.status == 0);
  CHECK(moved.text.find("M98") == std::string::npos);
  CHECK(said(moved.run, "note: calls, jumps and loops are written flat, every block in the order of "
                        "execution: small-firmware-remarks has none"));
}

TEST_CASE("only the call whose subprogram a stage changes is written flat", "[structure]") {
  Folder const folder;
  std::string const machine =
      folder.write("slow.toml", "profile = \"machine\"\ntitle = \"slow\"\ndialect = \"rs274ngc\"\n"
                                "[feeds]\ncutting = [1000, 1000, 1000]\n");
  std::string const program = std::string(head) +
                              "G1 Z0\nM98 P100\nM98 P200\nG0 Z20\nM30\n"
                              "O100\nG1 X10 F9000\nX0 F200\nM99\nO200\nG1 X5 F100\nX0\nM99\n%\n";
  auto const out = rewrite(program, {"--machine", machine});
  INFO(out.run.err);
  REQUIRE(out.run.status == 0);
  CHECK(out.text.find("M98 P100") == std::string::npos);
  CHECK(out.text.find("M98 P200") != std::string::npos);
  CHECK(said(out.run, "part.nc:9: note: line 9 is written flat, every block in the order of execution: "
                      "clamp-feeds changes line 14: "));
}
