#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <regex>

using namespace restep::command;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

json shown(std::string const& name) {
  Run const run = run_program({"profiles", "show", name, "--json", "-"});
  INFO(run.err);
  REQUIRE(run.status == 0);
  json const all = json::parse(run.out);
  CHECK(all["schema"] == 1);
  REQUIRE(all["views"].size() == 1);
  return all["views"][0];
}

json value_of(json const& view, std::string const& section, std::string const& key) {
  for (json const& value : view["values"])
    if (value["section"] == section && value["key"] == key) return value;
  return {};
}

} // namespace

TEST_CASE("a value is shown with the file of the chain that says it last and its line", "[profiles]") {
  Folder const folder;
  folder.write("base.toml",
               "profile = \"dialect\"\nbase = \"rs274ngc\"\n\n[numbers]\ndecimals_mm = 3 # its digits\n"
               "decimals_feed = 1\n");
  std::string const file = folder.write(
      "mine.toml",
      "profile = \"dialect\"\nbase = \"base\"\ntitle = \"mine\"\n[numbers]\ndecimals_feed = 2\n");
  json const view = shown(file);
  CHECK(view["kind"] == "dialect");
  CHECK(view["title"] == "mine");
  REQUIRE(view["files"].size() == 3);
  CHECK(view["files"][0] == file);
  json const feed = value_of(view, "numbers", "decimals_feed");
  CHECK(feed["value"] == "2");
  CHECK(feed["file"] == file);
  CHECK(feed["line"] == 5);
  json const length = value_of(view, "numbers", "decimals_mm");
  CHECK(length["value"] == "3");
  CHECK(length["file"] == folder.path("base.toml"));
  CHECK(length["line"] == 5);
  CHECK(length["remark"] == "its digits");
  // Where mine says nothing the root of the chain does, with its explanation.
  json const speed = value_of(view, "numbers", "decimals_speed");
  CHECK_THAT(speed["file"].get<std::string>(), Contains("rs274ngc.toml"));
  CHECK_FALSE(speed["remark"].get<std::string>().empty());
}

TEST_CASE("what show prints is a profile of its own with the same values", "[profiles]") {
  Folder const folder;
  for (json const& profile : json::parse(run_program({"profiles", "list", "--json", "-"}).out)["profiles"]) {
    std::string const name = profile["name"];
    INFO(name);
    Run const run = run_program({"profiles", "show", name});
    REQUIRE(run.status == 0);
    std::string const file = folder.write(name + ".toml", run.out);
    Run const checked = run_program({"profiles", "check", file});
    INFO(checked.err);
    CHECK(checked.status == 0);
    json const before = shown(name), after = shown(file);
    CHECK(after["files"].size() == 1);
    for (json const& value : before["values"])
      if (!value["value"].is_null())
        CHECK(value_of(after, value["section"], value["key"])["value"] == value["value"]);
  }
}

TEST_CASE("a machine's key that nobody says is shown as not said", "[profiles]") {
  Folder const folder;
  std::string const file = folder.write("mill.toml", "profile = \"machine\"\ndialect = \"rs274ngc\"\n");
  CHECK(value_of(shown(file), "feeds", "rapid")["value"].is_null());
  CHECK_THAT(run_program({"profiles", "show", file}).out, Contains("# rapid") && Contains("not said"));
}

TEST_CASE("a tool of a table's own takes the place of the base's of the same number", "[profiles]") {
  Folder const folder;
  std::string const file = folder.write(
      "mine.toml", "profile = \"tools\"\nbase = \"workshop\"\n[[tool]]\nnumber = 1\nshape = \"ball 4\"\n");
  json const view = shown(file);
  CHECK(value_of(view, "tool 1", "shape")["value"] == "\"ball 4\"");
  CHECK(value_of(view, "tool 1", "flutes").is_null());
  CHECK_FALSE(value_of(view, "tool 2", "shape").is_null());
}

TEST_CASE("what holds is shown with the faults of a profile that has some", "[profiles]") {
  Folder const folder;
  std::string const file =
      folder.write("mine.toml", "profile = \"dialect\"\nbase = \"rs274ngc\"\n[numbers]\ndecimals_mm = 9\n");
  Run const run = run_program({"profiles", "show", file});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("mine.toml:4:"));
}

TEST_CASE("a skeleton has no fault, nor has it with every key taken at its word", "[profiles]") {
  Folder const folder;
  for (char const* kind : {"dialect", "machine", "tools"}) {
    Run const run = run_program({"profiles", "new", kind});
    INFO(kind);
    REQUIRE(run.status == 0);
    std::string const file = folder.write("mine.toml", run.out);
    Run const checked = run_program({"profiles", "check", file});
    INFO(checked.err);
    CHECK(checked.status == 0);
    std::string const all = std::regex_replace(run.out, std::regex("\n# ([a-z_]+ = )"), "\n$1");
    CHECK(all != run.out);
    Run const full = run_program({"profiles", "check", folder.write("full.toml", all)});
    INFO(full.err);
    CHECK(full.status == 0);
  }
}

TEST_CASE("the machine skeleton has every key that a machine can have", "[profiles]") {
  Folder const folder;
  std::string const skeleton = run_program({"profiles", "new", "machine"}).out;
  for (json const& value : shown(folder.write("mine.toml", skeleton))["values"]) {
    INFO(value["key"]);
    CHECK_THAT(skeleton, Contains(value["key"].get<std::string>() + " ="));
  }
}

TEST_CASE("there are three kinds of skeletons and no others", "[profiles]") {
  Run const run = run_program({"profiles", "new", "machin"});
  CHECK(run.status == 2);
  CHECK_THAT(run.err, Contains("did you mean 'machine'?"));
  CHECK(run_program({"profiles", "new", "pot"}).status == 2);
}

TEST_CASE("check finds wrong keys, types, ranges and contradictions, each at its place", "[profiles]") {
  Folder const folder;
  struct Fault {
    char const* text;
    int line;
    char const* says;
    char const* hint;
  };
  Fault const faults[] = {
      {"profile = \"dialekt\"\n", 1, "wanted 'dialect'", "did you mean 'dialect'?"},
      {"profile = \"dialect\"\n[number]\ndecimals_mm = 3\n", 2, "unknown section [number]",
       "did you mean 'numbers'?"},
      {"profile = \"dialect\"\n[numbers]\ndecimal_mm = 3\n", 3, "unknown key 'decimal_mm'", "decimals_mm"},
      {"profile = \"dialect\"\n[blocks]\ndecimals_mm = 3\n", 3, "does not belong", "it belongs in [numbers]"},
      {"profile = \"dialect\"\n[numbers]\ndecimals_mm = \"3\"\n", 3, "whole number from 0 to", ""},
      {"profile = \"dialect\"\n[numbers]\ndecimals_mm = 3.5\n", 3, "whole number from 0 to", ""},
      {"profile = \"dialect\"\n[numbers]\ndecimals_mm = 99\n", 3, "found 99", ""},
      {"profile = \"dialect\"\n[numbers]\nalways_point = 1\n", 3, "true or false", ""},
      {"profile = \"dialect\"\n[blocks]\nline_end = \"crllf\"\n", 3, "must be one of",
       "did you mean 'crlf'?"},
      {"profile = \"dialect\"\n[words]\ncycles = 81\n", 3, "list of code numbers", ""},
      {"profile = \"dialect\"\n[words]\ninch = false\nmillimetre = false\n", 3, "neither inches nor",
       "set one"},
      {"profile = \"dialect\"\nbase = \"rs274\"\n", 2, "base 'rs274' was not found", "rs274ngc"},
      {"profile = \"dialect\"\nbase = \"fault\"\n", 2, "leads back", "based on itself"},
      {"profile = \"dialect\"\nbase = 3\n", 2, "'base' must be a text", ""},
      {"profile = \"dialect\"\n[words]\nparameters = false\n", 3, "work with parameters", "calls = false"},
      {"profile = \"machine\"\n", 1, "'dialect' is missing", "for example"},
      {"profile = \"machine\"\ndialect = \"rs274\"\n", 2, "cannot be used", "rs274ngc"},
      {"profile = \"machine\"\ndialect = \"rs274ngc\"\n[travel]\nspan = [1, 2]\n", 4, "list of 3 numbers",
       ""},
      {"profile = \"machine\"\ndialect = \"rs274ngc\"\n[travel]\nleast = [0, 0, 0]\n", 4, "belong together",
       ""},
      {"profile = \"machine\"\ndialect = \"rs274ngc\"\n[spindle]\nspeed = [9000, 60]\n", 4, "is more than",
       ""},
      {"profile = \"machine\"\ndialect = \"rs274ngc\"\n[feeds]\ncutting = [9000, 900, 900]\nrapid = [8000, "
       "8000, 8000]\n",
       4, "X cuts at up to 9000", "look up both"},
      {"profile = \"machine\"\ndialect = \"rs274ngc\"\n[feeds]\ncutting = [900, 900, 500]\nplunge = 600\n", 5,
       "faster than Z may cut", "lower of the two"},
      {"profile = \"machine\"\ndialect = \"rs274ngc\"\n[spindle]\ndwell = true\n", 4, "not for how long",
       "start_seconds"},
      {"profile = \"machine\"\ndialect = \"small-firmware\"\n[retract]\nhow = \"machine_top\"\n", 4,
       "needs G53", "clearance"},
      {"profile = \"tools\"\n[[tool]]\nnumber = 1\nshape = \"flat 6\"\n[[tool]]\nnumber = 1\nshape = \"flat "
       "8\"\n",
       5, "listed twice", ""},
      {"profile = \"tools\"\n[[tool]]\nnumber = 1\nshape = \"spoon 6\"\n", 4, "tool 1", ""},
      {"profile = \"tools\"\n[[tool]]\nshape = \"flat 6\"\n", 2, "without 'number'", "for example"},
      {"profile = \"dialect\"\n[numbers\n", 2, "not TOML", ""},
  };
  for (Fault const& fault : faults) {
    std::string const file = folder.write("fault.toml", fault.text);
    Run const run = run_program({"profiles", "check", file, "--json", "-"});
    INFO(fault.text << run.out);
    CHECK(run.status == 2);
    json const found = json::parse(run.out)["faults"];
    REQUIRE_FALSE(found.empty());
    CHECK(std::any_of(found.begin(), found.end(), [&](json const& f) {
      return f["line"] == fault.line && f["column"] >= 1 &&
             f["message"].get<std::string>().find(fault.says) != std::string::npos &&
             f["hint"].get<std::string>().find(fault.hint) != std::string::npos;
    }));
    Run const as_text = run_program({"profiles", "check", file});
    CHECK_THAT(as_text.err, Contains("fault.toml:" + std::to_string(fault.line) + ":"));
  }
}

TEST_CASE("a file that is not there is no fault of a profile", "[profiles]") {
  Folder const folder;
  CHECK(run_program({"profiles", "check", folder.path("none.toml")}).status == 3);
  CHECK(run_program({"profiles", "show", folder.path("none.toml")}).status == 3);
}
