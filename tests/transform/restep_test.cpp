#include "cutter/cusp.hpp"
#include "fixture.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>

using namespace restep;
using namespace restep::transform::testing;
using geometry::Vec2;

namespace {

std::vector<cutter::Tool> tools_of(std::vector<TrueStack> const& stacks) {
  std::vector<cutter::Tool> tools;
  for (TrueStack const& s : stacks)
    tools.push_back(s.tool);
  return tools;
}

// The report of the pass that lies within the lines of a true stack.
finish::PassReport const* pass_of(TrueStack const& stack, std::vector<finish::PassReport> const& passes) {
  for (finish::PassReport const& p : passes)
    if (p.first_line >= stack.first_line && p.last_line <= stack.last_line) return &p;
  return nullptr;
}

// Tip positions of a pass in the frame of the truth, whose d counts from the part's outline. The program's
// own levels tell the shift; its digits are averaged out.
std::vector<Vec2> in_true_frame(finish::PassReport const& pass, TrueStack const& stack) {
  double shift = 0;
  for (std::size_t k = 0; k < stack.levels.size(); ++k)
    shift += (stack.levels[k].x - pass.before.positions[k].x) / static_cast<double>(stack.levels.size());
  std::vector<Vec2> positions = pass.after.positions;
  for (Vec2& p : positions)
    p.x += shift;
  return positions;
}

struct PartCase {
  char const* fixture;
  double resolution;
};

// Every way of writing a prismatic stack that the workshop's programs show.
auto const part_cases = {PartCase{"bell-yoke", 1e-4},
                         PartCase{"bell-yoke-3", 1e-3},
                         PartCase{"bell-cap", 1e-4},
                         PartCase{"bottom-up", 1e-4},
                         PartCase{"chamfer", 1e-4},
                         PartCase{"clock-bezel", 1e-3},
                         PartCase{"draft", 1e-4},
                         PartCase{"every-word", 1e-3},
                         PartCase{"fillet", 1e-4},
                         PartCase{"incremental", 1e-4},
                         PartCase{"moving-start", 1e-4},
                         PartCase{"numbered", 1e-3},
                         PartCase{"r-arcs", 1e-4},
                         PartCase{"ramp-links", 1e-4},
                         PartCase{"striker-cam", 1e-4},
                         PartCase{"two-bosses", 1e-4},
                         PartCase{"two-bosses-one-by-one", 1e-4},
                         PartCase{"vertical-leads", 1e-3},
                         PartCase{"vertical-leads-y", 1e-3}};

} // namespace

TEST_CASE("the surface of every stack is found as the part's geometry has it", "[restep]") {
  for (PartCase const& c : part_cases) {
    INFO(c.fixture);
    auto const stacks = true_stacks(c.fixture);
    auto input = text::Input::open(fixture_path(c.fixture, "program.nc")).value();
    auto const out = run_restep(read_program(input), tools_of(stacks), {}, c.resolution);
    for (TrueStack const& stack : stacks) {
      finish::PassReport const* pass = pass_of(stack, out.passes);
      REQUIRE(pass != nullptr);
      REQUIRE(pass->before.levels == stack.levels.size());
      REQUIRE(pass->surface.size() == stack.surface.size());
      CHECK(pass->fit_residual_um < 1.0);
      for (std::size_t i = 0; i < pass->surface.size(); ++i) {
        auto const& truth = stack.surface[i];
        // 1 um on a radius and on the ends; a short round at three decimals allows no more.
        if (truth.contains("radius_mm"))
          CHECK(pass->surface[i].radius == Approx(truth["radius_mm"].get<double>()).margin(0.001));
        else if (truth.contains("angle_deg"))
          CHECK(pass->surface[i].angle == Approx(truth["angle_deg"].get<double>()).margin(0.02));
      }
    }
  }
}

TEST_CASE("new levels leave cusps of 0.90 to 1.00 of the target on the true surface", "[restep]") {
  for (PartCase const& c : part_cases) {
    for (double const target : {2.0, 5.0}) {
      INFO(c.fixture << " at " << target << " um");
      auto const stacks = true_stacks(c.fixture);
      auto input = text::Input::open(fixture_path(c.fixture, "program.nc")).value();
      auto const out = run_restep(read_program(input), tools_of(stacks), cusp_target(target), c.resolution);
      REQUIRE(out.proof_failure == "");
      for (TrueStack const& stack : stacks) {
        finish::PassReport const* pass = pass_of(stack, out.passes);
        REQUIRE(pass != nullptr);
        if (pass->status == finish::PassStatus::kept) continue;
        auto const levels = in_true_frame(*pass, stack);
        double const own_largest = pass->before.stepdown_max_mm;
        for (std::size_t k = 1; k < levels.size(); ++k) {
          double const cusp =
              1000 * cutter::cusp_peak_to_valley(stack.tool, stack.meridian, levels[k - 1], levels[k]);
          INFO("level " << k << " of " << levels.size() << " at z " << levels[k].y);
          // Half a percent for the fitted surface not being the true one to the last nanometre.
          CHECK(cusp <= 1.005 * target);
          bool const limited = levels[k - 1].y - levels[k].y > 0.95 * pass->after.stepdown_max_mm;
          if (!limited)
            CHECK(cusp >= 0.90 * target * std::pow(1 - 1.0 / static_cast<double>(levels.size()), 2));
          CHECK(levels[k - 1].y - levels[k].y <= own_largest + 1e-9);
        }
      }
    }
  }
}

TEST_CASE("no new level cuts the true surface by more than what the written digits allow", "[restep]") {
  for (PartCase const& c : part_cases) {
    INFO(c.fixture);
    auto const stacks = true_stacks(c.fixture);
    auto input = text::Input::open(fixture_path(c.fixture, "program.nc")).value();
    auto const out = run_restep(read_program(input), tools_of(stacks), cusp_target(2), c.resolution);
    for (TrueStack const& stack : stacks) {
      finish::PassReport const* pass = pass_of(stack, out.passes);
      REQUIRE(pass != nullptr);
      CHECK(pass->gouge_um <= 700 * c.resolution); // 0.7 of a digit, measured element by element
      for (Vec2 const p : in_true_frame(*pass, stack))
        CHECK(-1000 * stack.meridian.signed_distance(p) <= 700 * c.resolution);
    }
  }
}

TEST_CASE("first and last level keep their digits and their blocks", "[restep]") {
  for (PartCase const& c : part_cases) {
    INFO(c.fixture);
    auto const stacks = true_stacks(c.fixture);
    auto input = text::Input::open(fixture_path(c.fixture, "program.nc")).value();
    auto const steps = read_program(input);
    auto const out = run_restep(steps, tools_of(stacks), cusp_target(2), c.resolution);
    for (finish::PassReport const& pass : out.passes) {
      if (pass.status == finish::PassStatus::kept) continue;
      CHECK(pass.after.positions.front() == pass.before.positions.front());
      CHECK(pass.after.positions.back() == pass.before.positions.back());
      for (std::uint32_t const line : {pass.first_line, pass.last_line})
        CHECK(std::count_if(out.steps.begin(), out.steps.end(), [&](Step const& s) {
                return s.place.line == line && !s.generated && !s.touched;
              }) == 1);
    }
  }
}

TEST_CASE("re-stepping a re-stepped pass at the same target changes nothing", "[restep]") {
  for (PartCase const& c : part_cases) {
    INFO(c.fixture);
    auto const stacks = true_stacks(c.fixture);
    auto input = text::Input::open(fixture_path(c.fixture, "program.nc")).value();
    auto const once = run_restep(read_program(input), tools_of(stacks), cusp_target(2), c.resolution);
    auto const twice = run_restep(as_read(once.steps), tools_of(stacks), cusp_target(2), c.resolution);
    REQUIRE(twice.passes.size() == once.passes.size());
    for (finish::PassReport const& pass : twice.passes) {
      INFO("pass " << pass.index << ": " << pass.reason);
      CHECK(pass.status == finish::PassStatus::kept);
    }
  }
}

TEST_CASE("every move begins where the one before it ended", "[restep]") {
  for (PartCase const& c : part_cases) {
    INFO(c.fixture);
    auto const stacks = true_stacks(c.fixture);
    auto input = text::Input::open(fixture_path(c.fixture, "program.nc")).value();
    auto const out = run_restep(read_program(input), tools_of(stacks), cusp_target(2), c.resolution);
    motion::Motion const* last = nullptr;
    for (Step const& s : out.steps) {
      motion::Motion const* m = motion::motion_of(s);
      if (m != nullptr && last != nullptr && s.generated) {
        INFO("line " << s.place.line);
        CHECK(distance(last->to, m->from) < 1e-9);
      }
      last = m;
    }
  }
}

TEST_CASE("a mirrored part gives the same levels", "[restep]") {
  for (char const* fixture : {"bell-cap", "striker-cam", "clock-bezel", "two-bosses"}) {
    INFO(fixture);
    auto const stacks = true_stacks(fixture);
    auto input = text::Input::open(fixture_path(fixture, "program.nc")).value();
    auto const steps = read_program(input);
    auto const plain = run_restep(steps, tools_of(stacks), cusp_target(3), 1e-4);
    auto const image = run_restep(mirrored(steps), tools_of(stacks), cusp_target(3), 1e-4);
    REQUIRE(image.passes.size() == plain.passes.size());
    for (std::size_t i = 0; i < plain.passes.size(); ++i) {
      auto const& a = plain.passes[i].after.positions;
      auto const& b = image.passes[i].after.positions;
      REQUIRE(a.size() == b.size());
      for (std::size_t k = 0; k < a.size(); ++k)
        CHECK(distance(a[k], b[k]) < 1e-3); // grid places are chosen among mirrored neighbours
    }
  }
}

TEST_CASE("a part of twice the size at twice the cusp has as many levels", "[restep]") {
  auto const stacks = true_stacks("bell-cap");
  auto input = text::Input::open(fixture_path("bell-cap", "program.nc")).value();
  auto steps = read_program(input);
  auto const plain = run_restep(steps, tools_of(stacks), cusp_target(3), 1e-4);
  auto const large = moved(steps, false, [](motion::Vec3 const& p) { return 2 * p; });
  auto tools = tools_of(stacks);
  for (cutter::Tool& t : tools) {
    t.diameter *= 2;
    t.corner_radius *= 2;
  }
  auto const doubled = run_restep(large, tools, cusp_target(6), 2e-4);
  REQUIRE(doubled.passes.size() == 1);
  CHECK(doubled.passes[0].after.levels == plain.passes[0].after.levels);
  CHECK(doubled.passes[0].after.cusp_max_um == Approx(2 * plain.passes[0].after.cusp_max_um).epsilon(0.01));
}

TEST_CASE("a coarser finish than the program's takes levels out", "[restep]") {
  auto const stacks = true_stacks("fillet");
  auto input = text::Input::open(fixture_path("fillet", "program.nc")).value();
  auto target = cusp_target(60);
  target.limits.max_stepdown = 1;
  auto const out = run_restep(read_program(input), tools_of(stacks), target, 1e-4);
  REQUIRE(out.passes.size() == 1);
  CHECK(out.passes[0].status == finish::PassStatus::restepped);
  CHECK(out.passes[0].after.levels < out.passes[0].before.levels);
  CHECK(out.passes[0].after.cusp_max_um <= 60);
}

TEST_CASE("a wall takes the largest stepdown where its pass is named", "[restep]") {
  auto const stacks = true_stacks("wall");
  auto input = text::Input::open(fixture_path("wall", "program.nc")).value();
  transform::PassTarget target;
  target.limits.max_stepdown = 0.25;
  target.only = {1};
  auto const out = run_restep(read_program(input), tools_of(stacks), target, 1e-4);
  REQUIRE(out.passes.size() == 1);
  CHECK(out.passes[0].status == finish::PassStatus::restepped);
  CHECK(out.passes[0].after.stepdown_max_mm <= 0.2501);
}

TEST_CASE("a pass whose tool is not in the table is kept, and says what is missing", "[restep]") {
  auto input = text::Input::open(fixture_path("bell-cap", "program.nc")).value();
  auto const out = run_restep(read_program(input), {}, cusp_target(2), 1e-4);
  REQUIRE(out.passes.size() == 1);
  CHECK(out.passes[0].status == finish::PassStatus::kept);
  CHECK(out.passes[0].reason ==
        "tool T3 is not in the tool table: its diameter and corner radius are needed");
}
