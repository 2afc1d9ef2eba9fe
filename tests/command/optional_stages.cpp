#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

using namespace restep::command;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

/// A pocket's round wall in chords: twelve levels, each a circle of radius 10 in 220 lines.
std::string chorded_pocket() {
  std::string text = "G21 G90 G17 G94\nT2 M6\nS6000 M3\nG0 X10 Y0\nZ2\n";
  for (int level = 1; level <= 12; ++level) {
    text += fmt::format("G1 Z{:.2f} F200\n", -0.5 * level);
    for (int i = 1; i <= 220; ++i) {
      double const angle = 2 * 3.14159265358979 * i / 220;
      text += fmt::format("X{:.3f} Y{:.3f}{}\n", 10 * std::cos(angle), 10 * std::sin(angle),
                          i == 1 ? " F700" : "");
    }
  }
  return text + "G0 Z20\nM5\nM30\n";
}

std::size_t count_lines(std::string const& text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

} // namespace

TEST_CASE("arcs for chords are fitted only when asked for, and compare finds the same cut", "[fit-arcs]") {
  Folder const folder;
  std::string const in = folder.write("pocket.nc", chorded_pocket());
  std::string const plain = folder.path("plain.nc"), fitted = folder.path("fitted.nc");
  REQUIRE(run_program({"rewrite", in, "-o", plain}).status == 0);
  CHECK(count_lines(content_of(plain)) >= count_lines(content_of(in)));
  Run const run = run_program({"rewrite", in, "-o", fitted, "--with", "fit-arcs", "--json", "-"});
  INFO(run.err);
  REQUIRE(run.status == 0);
  CHECK(count_lines(content_of(fitted)) < 50);
  CHECK_THAT(run.err, Contains("2640 blocks of lines became 12 of arcs"));
  json const report = json::parse(run.out);
  CHECK(std::count_if(report["edits"].begin(), report["edits"].end(),
                      [](json const& edit) { return edit["stage"] == "fit-arcs"; }) == 12);
  CHECK(run_program({"compare", in, fitted, "--tol", "2um"}).status == 0);
  // The chords are within 1.02 um + digits of the circle, and not within a fifth of that.
  CHECK(run_program({"compare", in, fitted, "--tol", "0.2um"}).status == 1);
}

TEST_CASE("a job asks for stages too, with a tolerance of its own", "[fit-arcs]") {
  Folder const folder;
  folder.write("pocket.nc", chorded_pocket());
  auto const lines_with = [&](std::string const& keys) {
    std::string const job =
        folder.write("job.toml", "program = \"pocket.nc\"\noutput = \"out.nc\"\n" + keys + "\n");
    Run const run = run_program({"rewrite", "--job", job});
    INFO(keys << run.err);
    REQUIRE(run.status == 0);
    return count_lines(content_of(folder.path("out.nc")));
  };
  CHECK(lines_with("") > 2600);
  CHECK(lines_with("with = [\"fit-arcs\", \"join-lines\"]") < 50);
  CHECK(lines_with("with = \"fit-arcs\"\npath-tol = \"0.1um\"") > 2600);
  CHECK(lines_with("with = \"fit-arcs\"\nskip = \"fit-arcs\"") > 2600);
  // Lines of a circle within 20 um: about an eighth of the chords within 1 um.
  std::size_t const joined = lines_with("with = \"join-lines\"\npath-tol = \"20um\"");
  CHECK(joined < 1000);
  CHECK(joined > 200);
}

TEST_CASE("a stage that cannot be asked for and a tolerance of nothing are refused", "[fit-arcs]") {
  Folder const folder;
  std::string const in = folder.write("pocket.nc", chorded_pocket());
  Run run = run_program({"rewrite", in, "--with", "fit-arc"});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("did you mean 'fit-arcs'?"));
  run = run_program({"rewrite", in, "--with", "restep"});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("runs without being asked"));
  CHECK(run_program({"rewrite", in, "--with", "fit-arcs", "--path-tol", "0mm"}).status == 2);
  CHECK(run_program({"rewrite", in, "--with", "fit-arcs", "--path-tol", "0.01"}).status == 2);
}

namespace {

/// A pocket's wall with 1 mm draft on 4 mm, levels of 0.5 mm: 30 x 20 mm, corners of 5 mm at the tool's
/// centre, growing smaller downwards.
std::string drafted_pocket() {
  std::string text = "G21 G90 G17 G94\nT2 M6\nS6000 M3\nG0 X0 Y0\nZ2\n";
  for (int level = 0; level <= 8; ++level) {
    double const in = 0.125 * level, x = 15 - in, y = 10 - in, r = 5 - in;
    text += fmt::format("G1 X{:.3f} Y0 F700\nZ{:.3f} F200\n", x, -0.5 * level);
    text += fmt::format("Y{:.3f} F700\nG3 X{:.3f} Y{:.3f} I-{:.3f} J0\n", y - r, x - r, y, r);
    text += fmt::format("G1 X{:.3f}\nG3 X{:.3f} Y{:.3f} I0 J-{:.3f}\n", r - x, -x, y - r, r);
    text += fmt::format("G1 Y{:.3f}\nG3 X{:.3f} Y{:.3f} I{:.3f} J0\n", r - y, r - x, -y, r);
    text += fmt::format("G1 X{:.3f}\nG3 X{:.3f} Y{:.3f} I0 J{:.3f}\nG1 Y0\n", x - r, x, r - y, r);
  }
  return text + "G0 Z20\nM5\nM30\n";
}

} // namespace

// T2 is 6 mm: F700 on the centre's radius 5 is F700 x 5 / 8 = 437.5, on 4 (the lowest level) 400.
TEST_CASE("feeds on inside arcs are brought to the centre when asked for, once and not twice",
          "[edge-feeds]") {
  Folder const folder;
  std::string const in = folder.write("pocket.nc", drafted_pocket());
  std::string const once = folder.path("once.nc"), twice = folder.path("twice.nc");
  std::vector<std::string> const tool{"--tool", "T2 = flat 6", "--with", "edge-feeds", "--json", "-"};
  auto const rewrite = [&](std::string const& from, std::string const& to) {
    std::vector<std::string> words{"rewrite", from, "-o", to};
    words.insert(words.end(), tool.begin(), tool.end());
    Run const run = run_program(words);
    INFO(run.err);
    REQUIRE(run.status == 0);
    return json::parse(run.out);
  };
  json const first = rewrite(in, once);
  CHECK(std::count_if(first["edits"].begin(), first["edits"].end(),
                      [](json const& edit) { return edit["stage"] == "edge-feeds"; }) == 36);
  std::string const written = content_of(once);
  CHECK_THAT(written, Contains("(inside arcs have centre feeds)"));
  CHECK_THAT(written, Contains("F437.5"));
  CHECK_THAT(written, Contains("F400"));
  json const second = rewrite(once, twice);
  CHECK(second["edits"].empty());
  CHECK(content_of(twice) == written);
  CHECK_THAT(run_program({"compare", in, once}).out, Contains("the same way within 1 um"));
}
