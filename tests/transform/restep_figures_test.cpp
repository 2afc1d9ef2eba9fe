// What a re-stepped pass comes out as: equal cusps, the least number of levels, and what the report owes the
// user where that is not to be had.
#include "fixture.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using Catch::Matchers::Contains;

namespace {

Restepped run_fixture(std::string const& fixture, PassTarget const& target, double resolution) {
  std::vector<cutter::Tool> tools;
  for (TrueStack const& stack : true_stacks(fixture))
    tools.push_back(stack.tool);
  auto input = text::Input::open(fixture_path(fixture, "program.nc")).value();
  return run_restep(read_program(input), tools, target, resolution);
}

auto const prismatic = {"bell-yoke",    "bell-cap",    "bottom-up",  "chamfer",    "clock-bezel",
                        "draft",        "fillet",      "chords",     "ramp-links", "r-arcs",
                        "moving-start", "striker-cam", "two-bosses", "grouped"};

/// Re-steps all prismatic fixtures, calls `law` with each pass that got new levels, and holds what is true on
/// any digits: cusps within the target, and equal within 3 %.
template <class Law>
void check_even_cusps(std::initializer_list<double> targets, double digits, Law const& law) {
  for (char const* fixture : prismatic)
    for (double const um : targets) {
      INFO(fixture << " at " << um << " um");
      auto const out = run_fixture(fixture, cusp_target(um), digits);
      REQUIRE(out.proof_failure == "");
      for (finish::PassReport const& pass : out.passes) {
        if (pass.status == finish::PassStatus::kept) continue;
        CHECK(pass.after.cusp_max_um <= um);
        CHECK(pass.after.cusp_min_um >= 0.97 * pass.after.cusp_max_um);
        law(std::string(fixture), um, pass);
      }
    }
}

} // namespace

TEST_CASE("the cusps of a re-stepped pass are equal within three percent", "[restep]") {
  check_even_cusps({1.0, 2.0, 5.0}, 1e-4,
                   [](std::string const& fixture, double, finish::PassReport const& pass) {
                     // The closed forms at the levels' places, and the model that cuts the written blocks in
                     // sections.
                     CHECK(pass.written_cusp_um == Approx(pass.after.cusp_max_um).margin(0.1));
                     // Half a digit in d and in z, along a normal, and a little for contours that are
                     // known from digits: chords from those of five levels.
                     bool const in_chords = fixture == "chords";
                     bool const in_three_decimals = fixture == "clock-bezel";
                     CHECK(pass.gouge_um <= (in_three_decimals ? 0.708 : in_chords ? 0.085 : 0.0708));
                     // What stays above the surface is a cusp upon a level that stands off it by as much.
                     CHECK(pass.peak_um <= pass.written_cusp_um + (in_three_decimals ? 0.708 : 0.1));
                   });
}

TEST_CASE("at three decimals the cusps are equal within three percent as well, and no digit cuts deeper than "
          "it must",
          "[restep]") {
  check_even_cusps({2.0, 5.0}, 1e-3, [](std::string const&, double um, finish::PassReport const& pass) {
    CHECK(pass.gouge_um <= 0.708);
    // Single cusps differ by what a digit in plan is worth: the report says so, and what the digits hold.
    std::string const words = "they hold ";
    auto const said = pass.reason.find(words);
    INFO(pass.written_cusp_um << " um; " << pass.reason);
    CHECK((pass.written_cusp_um > 1.005 * um) == (said != std::string::npos));
    if (said == std::string::npos) return;
    double const held = std::stod(pass.reason.substr(said + words.size()));
    CHECK(held == Approx(pass.written_cusp_um + 0.005).margin(0.0051));
    CHECK(held <= 1.13 * um);
  });
}

TEST_CASE("a re-stepped pass has the least number of levels, or one more", "[restep]") {
  for (char const* fixture : prismatic)
    for (double const um : {1.0, 2.0, 5.0}) {
      INFO(fixture << " at " << um << " um");
      auto const out = run_fixture(fixture, cusp_target(um), 1e-4);
      for (finish::PassReport const& pass : out.passes) {
        if (pass.status == finish::PassStatus::kept || pass.meridian.length() == 0) continue;
        auto const tool = cutter::parse_tool(pass.tool_text).value();
        cutter::FinishTarget const target{cutter::FinishKind::cusp, um / 1000, ""};
        auto const march =
            cutter::march_levels(pass.meridian, tool, target, {pass.before.stepdown_max_mm, 0});
        std::size_t const least = march.size() + (march.back() < pass.meridian.length() ? 1 : 0);
        // Where the direction alternates the last level's own direction may ask for one more.
        std::size_t const parity = std::string(fixture) == "striker-cam" ? 1 : 0;
        CHECK(pass.after.levels >= least);
        CHECK(pass.after.levels <= least + 1 + parity);
        // No march may step further than the largest step of any: arc length over the largest step (ceiling).
        double largest = 0;
        for (std::size_t i = 1; i < march.size(); ++i)
          largest = std::max(largest, march[i] - march[i - 1]);
        CHECK(least >= 1 + static_cast<std::size_t>(std::ceil(pass.meridian.length() / largest - 1e-9)));
      }
    }
}

TEST_CASE("cut the other way round and from the other end a pass has the same levels", "[restep][law]") {
  for (char const* fixture : {"bell-cap", "chamfer", "draft", "fillet"}) {
    INFO(fixture);
    auto const stacks = true_stacks(fixture);
    auto input = text::Input::open(fixture_path(fixture, "program.nc")).value();
    auto const steps = read_program(input);
    auto const plain = run_restep(steps, {stacks[0].tool}, cusp_target(2), 1e-4);
    auto const turned = run_restep(backwards(steps), {stacks[0].tool}, cusp_target(2), 1e-4);
    REQUIRE(plain.passes.size() == 1);
    REQUIRE(turned.passes.size() == 1);
    CHECK(turned.proof_failure == "");
    finish::LevelFigures const& a = plain.passes[0].after;
    finish::LevelFigures const& b = turned.passes[0].after;
    REQUIRE(plain.passes[0].status == finish::PassStatus::restepped);
    REQUIRE(turned.passes[0].status == finish::PassStatus::restepped);
    CHECK(b.levels == a.levels);
    CHECK(b.cusp_max_um == Approx(a.cusp_max_um).epsilon(0.01));
    CHECK(b.cusp_min_um == Approx(a.cusp_min_um).epsilon(0.01));
  }
}

TEST_CASE("a pass that is finer than asked loses levels and says how much time that saves", "[restep]") {
  auto target = cusp_target(60);
  target.limits.max_stepdown = 1;
  auto const out = run_fixture("fillet", target, 1e-4);
  REQUIRE(out.passes.size() == 1);
  finish::PassReport const& pass = out.passes[0];
  CHECK(pass.after.levels < pass.before.levels);
  CHECK(pass.after.time_s < pass.before.time_s);
  CHECK_THAT(pass.reason, Contains(fmt::format("saves {:.0f} s", pass.before.time_s - pass.after.time_s)));
}

TEST_CASE("a pass that its own stepdown alone keeps fine says how few levels a larger one allows",
          "[restep]") {
  struct {
    char const* fixture;
    char const* tool;
    int number;
    double um;
  } const fine[] = {
      {"fillet", "ball 2", 4, 200}, {"spiral", "bull 3 r0.3", 3, 20}, {"variable-round", "ball 2", 4, 20}};
  for (auto const& [fixture, tool, number, um] : fine) {
    INFO(fixture);
    auto input = text::Input::open(fixture_path(fixture, "program.nc")).value();
    auto const program = read_program(input);
    auto tools = std::vector{cutter::parse_tool(tool).value()};
    tools.front().number = number;
    auto target = cusp_target(um);
    auto const held = run_restep(program, tools, target, 1e-4);
    REQUIRE(held.passes.size() == 1);
    CHECK(held.passes[0].status == finish::PassStatus::kept);
    std::string const& reason = held.passes[0].reason;
    INFO(reason);
    auto const at = reason.find(" go, down to ");
    REQUIRE(at != std::string::npos);

    target.limits.max_stepdown = 9;
    auto const free = run_restep(program, tools, target, 1e-4);
    CHECK(std::stoul(reason.substr(at + 13)) == free.passes[0].after.levels);
    // The user's own limit is not questioned.
    target.limits.max_stepdown = held.passes[0].before.stepdown_max_mm;
    auto const limited = run_restep(program, tools, target, 1e-4);
    CHECK_THAT(limited.passes[0].reason, !Contains("--max-stepdown"));
  }
}

TEST_CASE("what digits cannot hold is told with what they can", "[restep]") {
  // Whole hundredths of a millimetre.
  auto const out = run_fixture("bell-yoke-3", cusp_target(0.5), 0.01);
  double held = 0;
  for (finish::PassReport const& pass : out.passes) {
    INFO(pass.reason);
    if (pass.status != finish::PassStatus::restepped) continue;
    // Either the levels are written and leave more, or they fall together and coarser ones are written.
    bool const over = pass.written_cusp_um > 1.005 * 0.5;
    bool const says = pass.reason.find("do not hold 0.50 um") != std::string::npos;
    bool const coarser = pass.reason.find("do not bear levels for 0.50 um") != std::string::npos;
    CHECK(over == (says || coarser));
    CHECK(pass.target_um == 0.5);
    for (std::string const words : {"; they hold ", "these are for "})
      if (auto const at = pass.reason.find(words); at != std::string::npos)
        held = std::max(held, std::stod(pass.reason.substr(at + words.size())));
  }
  // What they hold is more than was asked and less than nothing at all.
  REQUIRE(held > 0.5);
  double const asked = 1.05 * held;
  auto const again = run_fixture("bell-yoke-3", cusp_target(asked), 0.01);
  for (finish::PassReport const& pass : again.passes) {
    if (pass.status == finish::PassStatus::restepped) CHECK(pass.written_cusp_um <= 1.05 * asked);
    CHECK_THAT(pass.reason, !Contains("do not bear"));
  }
}
