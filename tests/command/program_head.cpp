// The state block at the head of a rewritten program: what the program does not say itself is put in.
#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>

#include <algorithm>

using namespace restep::command;
using Catch::Matchers::Contains;

namespace {

constexpr char const* rest = "T1 M6\nS4000 M3\nG0 X0 Y0\nG43 H1 Z5\nG1 Z-1 F100\nX10 F400\nG0 Z5\nM30\n";

std::string written(Folder const& folder, std::string const& program, std::string const& machine,
                    std::vector<std::string> const& more = {}) {
  std::string const out = folder.path("out.nc");
  std::vector<std::string> line{"rewrite", folder.write("in.nc", program), "--machine", machine, "-o", out};
  line.insert(line.end(), more.begin(), more.end());
  Run const run = run_program(line);
  INFO(run.err);
  CHECK(run.status == 0);
  return content_of(out);
}

std::size_t count(std::string const& text, std::string const& what) {
  std::size_t found = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
    ++found;
  return found;
}

} // namespace

TEST_CASE("in its own dialect a program gets the words of state that it lacks, and no others", "[head]") {
  Folder const folder;
  std::string const half = written(folder, std::string("G21 G90\n") + rest, "column-mill");
  CHECK_THAT(half, Contains("\nG21 G90\nG17 G40 G80 G94\n"));
  std::string const none = written(folder, rest, "column-mill");
  CHECK_THAT(none, Contains("\nG17 G21 G40 G80 G90 G94\n"));
  std::string const whole = written(folder, std::string("G90 G94 G17 G40 G80\nG21\n") + rest, "column-mill");
  CHECK_THAT(whole, Contains("\nG90 G94 G17 G40 G80\nG21\nG53"));
  std::string const line = written(folder, std::string("G17 G20 G40 G80 G90 G94\n") + rest, "column-mill");
  CHECK_THAT(line, Contains("\nG17 G20 G40 G80 G90 G94\nG53 G0 Z0\nT1 M6\n"));
}

TEST_CASE("what was put at the head is there when the program is rewritten again", "[head][law]") {
  Folder const folder;
  for (char const* head : {"", "G21 G90\n", "G20\n", "/G40\n"}) {
    std::string const once = written(folder, std::string(head) + rest, "column-mill");
    CHECK(written(folder, once, "column-mill") == once);
  }
}

TEST_CASE("in another dialect G40 stands in the block that states the modes", "[head]") {
  Folder const folder;
  folder.write("mill.toml", "profile = \"machine\"\ntitle = \"ISO mill\"\ndialect = \"iso6983\"\n");
  CHECK_THAT(written(folder, rest, folder.path("mill.toml")), Contains("G17 G71 G40 G80 G90 G94"));
}

// The small control has no cutter compensation, no cycles, one plane and feeds per minute only.
TEST_CASE("a control gets no word of state that it does not have", "[head]") {
  Folder const folder;
  std::string const small = written(folder, rest, "bench-mill");
  CHECK_THAT(small, Contains("G21 G90\n") && !Contains("G40") && !Contains("G80") && !Contains("G94"));
}

// Common practice, no source: without G43 the length that the operator set is the one that Z counts on.
TEST_CASE("a length offset is never cancelled for the program", "[head]") {
  Folder const folder;
  CHECK(count(written(folder, rest, "column-mill"), "G49") == 0);
  CHECK(count(written(folder, std::string("G49\n") + rest, "column-mill"), "G49") == 1);
}

TEST_CASE("a word of state behind a block delete is not counted on", "[head]") {
  Folder const folder;
  CHECK_THAT(written(folder, std::string("G17 G21 G80 G90 G94\n/G40\n") + rest, "column-mill"),
             Contains("\nG40\n/G40\n"));
}

TEST_CASE("without the frame, or without a machine, nothing is put at the head", "[head]") {
  Folder const folder;
  CHECK(count(written(folder, rest, "column-mill", {"--skip", "program-frame"}), "G40") == 0);
  Run const run = run_program({"rewrite", folder.write("in.nc", rest)});
  CHECK(count(run.out, "G40") == 0);
}

TEST_CASE("a call at the head is kept, with the state in front of it", "[head]") {
  Folder const folder;
  std::string const text =
      "O100 SUB\nG53 G0 Z0\nT1 M6\nS4000 M3\nG0 X0 Y0\nG43 H1 Z5\nG1 Z-1 F100\nX10 F400\n"
      "M5\nG53 G0 Z0\nO100 ENDSUB\nO100 CALL\nM30\n";
  std::string const out = written(folder, text, "column-mill");
  CHECK_THAT(out, Contains("G17 G21 G40 G80 G90 G94") && Contains("O100 CALL\n"));
  CHECK(out.find("G40") < out.find("O100 CALL"));
}
