// What the terminal tells of the demo part, read back out of its text, is what the JSON says.
#include "report/program_report.hpp"
#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include <regex>
#include <string>
#include <vector>

using namespace restep::command;
using nlohmann::json;

namespace {

/// The text of the lines that a label begins, continued lines joined; from `at` on.
std::string told(std::string const& text, std::string const& label, std::size_t at = 0) {
  std::smatch found;
  std::regex const line("(?:^|\n) *" + label + "  +([^\n]*(?:\n {11,}[^\n]*)*)");
  std::string const rest = text.substr(at);
  REQUIRE(std::regex_search(rest, found, line));
  return std::regex_replace(found[1].str(), std::regex("\n +"), " ");
}

/// The text of pass `number` alone.
std::string pass_text(std::string const& text, int number) {
  std::size_t const begin = text.find("pass " + std::to_string(number) + "  lines");
  REQUIRE(begin != std::string::npos);
  return text.substr(begin, text.find("\n\n", begin) - begin) + "\n";
}

std::vector<double> numbers(std::string const& text) {
  std::vector<double> all;
  std::regex const number("-?[0-9]+(?:\\.[0-9]+)?");
  for (std::sregex_iterator it(text.begin(), text.end(), number), end; it != end; ++it)
    all.push_back(std::stod(it->str()));
  return all;
}

/// The numbers in the text, in order, and those of the JSON agree to the `digits` that are shown.
void agree(std::string const& text, std::vector<json> const& values, double last_digit) {
  INFO(text);
  auto const shown = numbers(text);
  REQUIRE(shown.size() == values.size());
  for (std::size_t k = 0; k < values.size(); ++k)
    CHECK(shown[k] == Approx(values[k].get<double>()).margin(last_digit / 2 + 1e-9));
}

std::string from_to(json const& before, json const& after) {
  return restep::report::duration(before.get<double>()) + " -> " +
         restep::report::duration(after.get<double>());
}

} // namespace

TEST_CASE("the terminal shows the same figures as the JSON", "[report]") {
  Folder const folder;
  std::string const part = source_file("fixtures/bell-yoke/program.nc");
  Run const run = run_program({"rewrite", part, "--machine", "column-mill", "--tools", "workshop", "--finish",
                               "cusp:2um", "-o", folder.path("out.nc"), "--json", folder.path("out.json")});
  REQUIRE(run.status == 0);
  json const report = json::parse(content_of(folder.path("out.json")));
  for (int const index : {3, 4}) {
    json const& pass = report["passes"][static_cast<std::size_t>(index - 1)];
    json const &before = pass["before"], &after = pass["after"];
    std::string const text = pass_text(run.out, index);
    agree(told(text, "levels"), {before["levels"], after["levels"]}, 0);
    agree(std::regex_replace(told(text, "cusp"), std::regex(" +\\(target.*"), ""),
          {before["cusp_min_um"], before["cusp_max_um"], after["cusp_min_um"], after["cusp_max_um"]}, 0.001);
    agree(told(text, "Ra"), {before["ra_um"], after["ra_um"]}, 0.001);
    agree(told(text, "stepdown"),
          {before["stepdown_max_mm"], after["stepdown_min_mm"], after["stepdown_max_mm"]}, 0.0001);
    agree(told(text, "measured"), {pass["written_cusp_um"], pass["peak_um"], pass["gouge_um"]}, 0.001);
    CHECK(told(text, "time") == from_to(before["time_s"], after["time_s"]));
    CHECK(numbers(text.substr(text.find("lines"), text.find("  T") - text.find("lines")))[0] ==
          pass["lines"][0]);
  }
  CHECK(told(run.out, "time", run.out.find("\nretracts")) ==
        from_to(report["time_s"]["before"], report["time_s"]["after"]));
  agree(told(run.out, "read back"), {report["proof"]["motions"], report["proof"]["read_back_um"]}, 0.001);
  CHECK(numbers(told(run.out, "edits"))[0] == report["edits_made"]);
  agree(told(run.out, "retracts"), {report["retracts"]["inserted"]}, 0);
}

TEST_CASE("inspect's terminal shows the same extents and counts as its JSON", "[report]") {
  Folder const folder;
  std::string const part = source_file("fixtures/bell-yoke/program.nc");
  Run const run = run_program({"inspect", part, "--tools", "workshop", "--json", folder.path("in.json")});
  REQUIRE(run.status == 0);
  json const report = json::parse(content_of(folder.path("in.json")));
  agree(told(run.out, "blocks"), {report["blocks"], report["motions"]}, 0);
  for (auto const& [label, name] : {std::pair{"cuts", "cutting"}, std::pair{"rapids", "rapids"}}) {
    json const& reach = report["extents"][name];
    std::vector<json> all;
    for (char const* axis : {"x_mm", "y_mm", "z_mm"})
      for (json const& end : reach[axis])
        all.push_back(end);
    agree(told(run.out, label), all, 0.0001);
  }
  CHECK(told(run.out, "time") == restep::report::duration(report["time_s"]["before"].get<double>()));
}
