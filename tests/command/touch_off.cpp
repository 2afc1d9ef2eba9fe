#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>

using namespace restep::command;
using Catch::Matchers::Contains;

namespace {

std::string machine_with(std::string const& dialect, std::string const& sets) {
  return "profile = \"machine\"\ntitle = \"test\"\ndialect = \"" + dialect +
         "\"\n[tools]\nchange = \"by_hand\"\n[touch_off]\nhow = \"plate\"\nplate = 12.5\nsearch = 40\n"
         "feed = 100\nslow_feed = 20\nsets = \"" +
         sets + "\"\n[retract]\nhow = \"clearance\"\n";
}

constexpr char const* two_tools =
    "G21 G90 G54\nT3 M6\nG43 H3\nS5000 M3\nG0 X0 Y0 Z20\nG1 Z-1 F200\nG1 X40 F400\nG0 Z20\nT4 M6\n"
    "G43 H4\nM3\nG0 X0 Y5\nZ2\nG1 Z-1\nX40\nG0 Z20\nM5\nM30\n";

} // namespace

TEST_CASE("tools changed by hand are touched off on the plate, and the output is read back", "[touch-off]") {
  Folder const folder;
  std::string const program = folder.write("part.nc", two_tools);
  for (std::string const units : {"G21", "G20"}) {
    std::string text = two_tools;
    text.replace(0, 3, units);
    folder.write("part.nc", text);
    Run const run =
        run_program({"rewrite", program, "--machine", folder.write("m.toml", machine_with("rs274ngc", "G92")),
                     "-o", folder.path("out.nc")});
    INFO(run.err);
    CHECK(run.status == 0);
    CHECK_THAT(run.err, Contains("it drives each down by up to 40 mm until it meets the plate"));
    if (units == "G20") continue;
    std::string const out = content_of(folder.path("out.nc"));
    std::string const probing = "M0\nG92 Z0\nG38.2 Z-40 F100\nG92 Z0\nG0 Z2\nG38.2 Z-2 F20\nG92 Z12.5\n";
    std::size_t const first = out.find("G38.2 Z-40 F100");
    CHECK(first != std::string::npos);
    CHECK(out.find(probing, first) != std::string::npos); // the second tool's, whose modes are known
    CHECK_THAT(out, !Contains("G43"));
    CHECK(run_program({"inspect", folder.path("out.nc")}).status == 0);
  }
}

TEST_CASE("the offset is stored with G10 L20 where profile and control say so", "[touch-off]") {
  Folder const folder;
  folder.write("stores.toml", "profile = \"dialect\"\nbase = \"rs274ngc\"\ntitle = \"t\"\n[words]\n"
                              "set_origin_here = true\n");
  Run const run = run_program({"rewrite", folder.write("part.nc", two_tools), "--machine",
                               folder.write("m.toml", machine_with(folder.path("stores.toml"), "G10"))});
  INFO(run.err);
  CHECK(run.status == 0);
  CHECK_THAT(run.out, Contains("G10 L20 P0 Z12.5\n") && !Contains("G92"));
}

TEST_CASE("a control without the words for it is refused before anything is read", "[touch-off]") {
  Folder const folder;
  Run const run = run_program({"rewrite", folder.write("part.nc", two_tools), "--machine",
                               folder.write("m.toml", machine_with("small-firmware", "G92"))});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("needs G38.2, which 'small-firmware' has not"));
  CHECK(run.out.empty());
}
