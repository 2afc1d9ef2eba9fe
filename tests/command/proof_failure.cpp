// What a failed proof leads to. The program is rewritten as the command does it; a fault is put into a
// re-stepped pass before it is proven.
#include "command/pipeline.hpp"
#include "command/rewrite_options.hpp"
#include "finish/contour.hpp"
#include "report/terminal.hpp"
#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <sstream>

using namespace restep;
using namespace restep::command;
using Catch::Matchers::Contains;

namespace {

using Fault = std::function<void(std::vector<motion::Step>&)>;

struct Result {
  Outcome outcome;
  std::string summary;
  bool written = false;
};

Result rewrite_with(Fault const& fault) {
  Folder const folder;
  RewriteOptions options;
  options.finish = "cusp:2um";
  options.setup.tool = {"T3 = bull 3 r0.3"};
  Setup setup = load_rewrite_setup(options).value();
  setup.before_proof = fault;
  std::ostringstream out, err;
  Console const console{out, err};
  Result result;
  result.outcome = rewrite_program(source_file("fixtures/bell-cap/program.nc"), folder.path("out.nc"), false,
                                   setup, console);
  result.summary = report::rewrite_summary(result.outcome.report);
  result.written = folder.files() > 0;
  return result;
}

// The height of a new level well below the round.
double height_of_new_level(std::vector<motion::Step> const& steps) {
  for (motion::Step const& s : steps)
    if (motion::Motion const* m = motion::motion_of(s);
        m != nullptr && s.generated && finish::is_level_cut(*m) && m->from.z < -1.5)
      return m->from.z;
  FAIL("no new level");
  return 0;
}

// The lead-in of a new level comes straight from a place this far away from the part, mm, at the level's
// height.
void lead_straight_in(std::vector<motion::Step>& steps, double away) {
  double const z = height_of_new_level(steps);
  for (motion::Step& s : steps) {
    motion::Motion* m = motion::motion_of(s);
    if (m == nullptr || !finish::is_level_cut(*m) || std::abs(m->from.z - z) > 1e-9) continue;
    geometry::Vec2 const end = geometry::xy(m->to);
    geometry::Vec2 const arm = geometry::xy(m->centre) - end; // to the centre: away from the part
    m->path = motion::PathKind::line;
    m->from = geometry::at_height(end + away * normalized(arm), z);
    return;
  }
}

} // namespace

TEST_CASE("without a fault the pass is written", "[proof]") {
  auto const result = rewrite_with({});
  CHECK(result.outcome.code == ExitCode::done);
  CHECK(result.written);
}

TEST_CASE("a new level 5 um too near to the material fails the proof, and nothing is written", "[proof]") {
  double z = 0;
  auto const result = rewrite_with([&](std::vector<motion::Step>& steps) {
    if (z == 0) z = height_of_new_level(steps); // of the first plan; others may follow
    for (motion::Step& s : steps)
      if (motion::Motion* m = motion::motion_of(s))
        for (motion::Vec3* p : {&m->from, &m->to, &m->centre})
          if (std::abs(p->z - z) < 1e-9) p->y += 0.005;
  });
  CHECK(result.outcome.code == ExitCode::proof_failed);
  CHECK(static_cast<int>(result.outcome.code) == 4);
  CHECK_FALSE(result.written);
  CHECK_THAT(result.summary, Contains("FAILED") && Contains("below") && Contains("nothing was written"));
  // It says where.
  REQUIRE(result.outcome.report.failure);
  CHECK_THAT(result.outcome.report.failure->what,
             Contains(fmt::format("Z{:.3f}", z)) && Contains("pass 1 (lines"));
}

TEST_CASE("a new level that is missing fails the proof, and nothing is written", "[proof]") {
  auto const result = rewrite_with([&](std::vector<motion::Step>& steps) {
    double const z = height_of_new_level(steps);
    std::erase_if(steps, [&](motion::Step const& s) {
      motion::Motion const* m = motion::motion_of(s);
      return m != nullptr && finish::is_level_cut(*m) && std::abs(m->from.z - z) < 1e-9;
    });
  });
  CHECK(result.outcome.code == ExitCode::proof_failed);
  CHECK_FALSE(result.written);
  REQUIRE(result.outcome.report.failure);
  CHECK_THAT(result.outcome.report.failure->what, Contains("a cusp of"));
}

TEST_CASE("a link that runs 20 um inside the wall fails the proof, and nothing is written", "[proof]") {
  auto const result = rewrite_with([&](std::vector<motion::Step>& steps) {
    // The lead-in comes from the other side of the contour.
    lead_straight_in(steps, -0.02);
  });
  CHECK(result.outcome.code == ExitCode::proof_failed);
  CHECK_FALSE(result.written);
  REQUIRE(result.outcome.report.failure);
  CHECK_THAT(result.outcome.report.failure->what, Contains("a link between two levels cuts"));
}

TEST_CASE(
    "a link that leads where the program never cut fails the proof, though it keeps clear of the surface",
    "[proof]") {
  auto const result = rewrite_with([&](std::vector<motion::Step>& steps) {
    // The lead-in comes from 30 mm away, at the level's height: there may stand anything.
    lead_straight_in(steps, 30);
  });
  CHECK(result.outcome.code == ExitCode::proof_failed);
  CHECK_FALSE(result.written);
  REQUIRE(result.outcome.report.failure);
  CHECK_THAT(result.outcome.report.failure->what, Contains("than the program ever was there"));
}
