#include "tests/command/golden.hpp"
#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>

using namespace restep::command;
using Catch::Matchers::Contains;

TEST_CASE("every help text is as it was agreed and fits the terminal", "[command-line]") {
  for (std::string const command : {"", "rewrite", "inspect", "compare", "steps", "profiles"}) {
    std::vector<std::string> arguments{"--help"};
    if (!command.empty()) arguments.insert(arguments.begin(), command);
    Run const run = run_program(arguments);
    INFO(command);
    CHECK(run.status == 0);
    CHECK(run.err.empty());
    CHECK(longest_line(run.out) <= 80);
    check_golden(command.empty() ? "help.txt" : "help-" + command + ".txt", run.out);
  }
}

TEST_CASE("no arguments at all is wrong usage and tells what there is", "[command-line]") {
  Run const run = run_program({});
  CHECK(run.status == 2);
  CHECK(run.out.empty());
  CHECK_THAT(run.err, Contains("rewrite") && Contains("inspect"));
}

TEST_CASE("a mistyped command gets a suggestion", "[command-line]") {
  Run const run = run_program({"rewrit", "a.nc"});
  CHECK(run.status == 2);
  CHECK(run.err == "restep: error: unknown command 'rewrit'\n  did you mean 'rewrite'?\n");
}

TEST_CASE("a mistyped option gets a suggestion", "[command-line]") {
  Run const run = run_program({"rewrite", "a.nc", "--finsh", "cusp:1um"});
  CHECK(run.status == 2);
  CHECK(run.err == "restep: error: unknown option '--finsh'\n  did you mean '--finish'?\n");
}

TEST_CASE("a mistyped name of a profile gets a suggestion, of the kind that is wanted", "[command-line]") {
  struct Slip {
    std::vector<std::string> arguments;
    char const* says;
  };
  std::string const part = source_file("fixtures/wall/program.nc");
  for (Slip const& slip : {Slip{{"rewrite", part, "--tools", "workshp"}, "did you mean 'workshop'?"},
                           Slip{{"inspect", part, "--tools", "werkshop"}, "did you mean 'workshop'?"},
                           Slip{{"rewrite", part, "--machine", "bench-mil"}, "did you mean 'bench-mill'?"},
                           Slip{{"rewrite", part, "--from", "rs247ngc"}, "did you mean 'rs274ngc'?"},
                           Slip{{"compare", part, part, "--from-b", "iso6893"}, "did you mean 'iso6983'?"},
                           Slip{{"profiles", "show", "workshp"}, "did you mean 'workshop'?"},
                           Slip{{"profiles", "shwo", "workshop"}, "'restep profiles --help'"}}) {
    Run const run = run_program(slip.arguments);
    INFO(run.err);
    CHECK(run.status == 2);
    CHECK_THAT(run.err, Contains(slip.says));
  }
}

TEST_CASE("an option without its value is wrong usage", "[command-line]") {
  Run const run = run_program({"rewrite", "a.nc", "--finish"});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("--finish"));
}

TEST_CASE("the version is told", "[command-line]") {
  Run const run = run_program({"--version"});
  CHECK(run.status == 0);
  CHECK(run.out == "restep 0.1.0\n");
}
