#include "tests/command/run_program.hpp"
#include "tests/robustness/started.hpp"

#include <catch2/catch.hpp>

#include <string>
#include <vector>

using namespace restep::command;
using namespace restep::robustness;

TEST_CASE("the memory of a run does not grow with a program that has no finishing pass", "[memory]") {
  constexpr std::size_t bytes = 80'000'000; // more than any of these runs may take
  Folder const folder;
  std::string const program = folder.write("large.nc", large_program(bytes));
  std::string const out = folder.path("out.nc");
  std::vector<std::vector<std::string>> const runs{
      {"rewrite", program, "--machine", source_file("tests/bench/machine.toml"), "-o", out}, // same dialect
      {"rewrite", program, "--machine", "bench-mill", "-o", out}, // every block afresh
      {"inspect", program},
      {"compare", program, program},
  };
  for (auto const& run : runs) {
    Ending const ending = Started(run).wait();
    INFO(run[0] << " " << run[3 % run.size()] << ": " << ending.peak_megabytes << " MB");
    CHECK(ending.status == 0);
    CHECK(ending.peak_megabytes < 64);
  }
}
