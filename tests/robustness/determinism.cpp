#include "tests/command/run_program.hpp"
#include "tests/robustness/started.hpp"

#include <catch2/catch.hpp>

#include <string>

using namespace restep::command;
using namespace restep::robustness;

namespace {

std::string result(std::string const& part, std::string const& locale) {
  Folder const folder;
  Started::Limits limits;
  limits.locale = locale;
  Started run({"rewrite", source_file("fixtures/" + part + "/program.nc"), "--machine", "column-mill",
               "--tools", "workshop", "--finish", "cusp:2um", "-o", folder.path("out.nc"), "--json",
               folder.path("out.json")},
              limits);
  REQUIRE(run.wait().status == 0);
  return content_of(folder.path("out.nc"));
}

} // namespace

TEST_CASE("the same program gives the same bytes on every run", "[determinism]") {
  for (std::string const part : {"bell-yoke", "chords", "inch"}) {
    std::string const first = result(part, "C");
    for (int i = 0; i < 3; ++i) {
      bool const same = result(part, "C") == first;
      CHECK(same);
    }
  }
}

TEST_CASE("the locale has no effect", "[determinism]") {
  std::string const plain = result("bell-yoke", "C");
  for (char const* locale : {"de_DE.UTF-8", "tr_TR.UTF-8", "C.UTF-8", "no_such_locale"}) {
    bool const same = result("bell-yoke", locale) == plain;
    INFO(locale);
    CHECK(same);
  }
}
