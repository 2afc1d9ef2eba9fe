#include "report/json.hpp"
#include "tests/report/report_help.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <fstream>

using namespace restep;
using nlohmann::ordered_json;

namespace {

ordered_json schema() {
  std::ifstream file(std::string(RESTEP_SOURCE_DIR) + "/src/report/schema/restep-report.schema.json");
  return ordered_json::parse(file);
}

/// Names of the value's fields that the schema does not know, and of fields that it wants and that are
/// missing.
void compare(ordered_json const& value, ordered_json rule, ordered_json const& definitions,
             std::string const& path, std::vector<std::string>& wrong) {
  if (rule.contains("$ref"))
    rule = definitions[rule["$ref"].get<std::string>().substr(sizeof "#/$defs/" - 1)];
  if (value.is_object()) {
    for (auto const& [name, part] : value.items()) {
      if (!rule.contains("properties") || !rule["properties"].contains(name))
        wrong.push_back(fmt::format("{}.{} is not in the schema", path, name));
      else
        compare(part, rule["properties"][name], definitions, path + "." + name, wrong);
    }
    for (auto const& name : rule.value("required", ordered_json::array()))
      if (!value.contains(name))
        wrong.push_back(fmt::format("{}.{} is missing", path, name.get<std::string>()));
  }
  if (value.is_array()) {
    for (auto const& part : value)
      compare(part, rule.at("items"), definitions, path + "[]", wrong);
  }
}

std::vector<std::string> faults(report::ProgramReport const& report) {
  ordered_json const whole = schema();
  std::vector<std::string> wrong;
  compare(report::to_json(report), whole["$defs"]["report"], whole["$defs"], "", wrong);
  return wrong;
}

} // namespace

TEST_CASE("every field of the JSON is in the schema and none that it wants is missing", "[schema]") {
  report::ProgramReport report = report::example();
  CHECK(faults(report) == std::vector<std::string>{});
  report.survey.cutting.low = {0, 0, -5};
  report.survey.cutting.high = {10, 10, 0};
  report.findings.add(text::Severity::error, "an-error", "an error", "with a hint", {0, 0, 3});
  report.failure = proof::ReadBackFailure{3, 4, "another place"};
  CHECK(faults(report) == std::vector<std::string>{});
  CHECK(faults(report::ProgramReport()) == std::vector<std::string>{});
}

TEST_CASE("the JSON names the version of its schema", "[schema]") {
  CHECK(report::to_json(report::ProgramReport())["schema"] ==
        schema()["$defs"]["report"]["properties"]["schema"]["const"]);
}
