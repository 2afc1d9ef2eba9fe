#include "cutter/step_solver.hpp"
#include "shapes.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <array>
#include <limits>

using namespace restep::cutter;
using namespace restep::cutter::shapes;
using Catch::Matchers::WithinAbs;

namespace {

FinishTarget cusp(double mm) {
  return {FinishKind::cusp, mm, "cusp"};
}

std::vector<double> figures_of(Meridian const& m, Tool const& tool, FinishTarget const& target,
                               std::vector<double> const& s) {
  std::vector<double> figures;
  for (std::size_t i = 0; i + 1 < s.size(); ++i)
    figures.push_back(finish_figure(target, tool, m, m.at(s[i]), m.at(s[i + 1])));
  return figures;
}

void check_plan(Meridian const& m, Tool const& tool, FinishTarget const& target, StepLimits const& limits,
                LevelPlan const& plan) {
  REQUIRE(plan.s.size() >= 2);
  CHECK(plan.s.front() == 0);
  CHECK(plan.s.back() == m.length());
  for (std::size_t i = 0; i + 1 < plan.s.size(); ++i) {
    CHECK(plan.s[i + 1] > plan.s[i]);
    Vec2 const upper = m.at(plan.s[i]), lower = m.at(plan.s[i + 1]);
    if (!plan.target_missed) CHECK(finish_figure(target, tool, m, upper, lower) <= target.limit * (1 + 2e-9));
    if (limits.max_stepdown > 0) CHECK(upper.y - lower.y <= limits.max_stepdown * (1 + 1e-8));
  }
}

} // namespace

TEST_CASE("the largest step on a plane is the inverse of the exact cusp") {
  // Cases 11 to 15 and 10, formula (15); computed two ways.
  struct Case {
    double theta, r, h, dz;
  };
  auto const c = GENERATE(Case{45, 0.5, 0.005, 0.0997497}, Case{80, 0.5, 0.005, 0.138924},
                          Case{89, 0.5, 0.005, 0.361292}, Case{5, 0.5, 0.005, 0.0130310},
                          Case{35, 0.2, 0.25, 0.401080}, Case{89, 0, 0.005, 0.286493});
  Meridian const m = meridian({plane(c.theta, 2)});
  auto const s = march_levels(m, end_mill(c.r), cusp(c.h), {});
  REQUIRE(s.size() > 3);
  double const digit = std::pow(10.0, std::floor(std::log10(c.dz)) - 5) / 2;
  CHECK_THAT(m.at(s[0]).y - m.at(s[1]).y, WithinAbs(c.dz, digit));
  CHECK_THAT(m.at(s[1]).y - m.at(s[2]).y, WithinAbs(c.dz, digit));
}

TEST_CASE("two arcs of radius 3 that leave 5 um lie 0.346266 apart") {
  // Case 2, formula (3).
  Meridian const m = meridian({plane(45, 2)});
  auto const s = march_levels(m, end_mill(3 - 1e-9), cusp(0.005), {});
  CHECK_THAT(s[1], WithinAbs(0.346266, 5e-7));
}

TEST_CASE("a sharp tool takes a round in equal steps of z squared") {
  // Case 22, formula (20): R 2, h 0.005 from the top.
  Meridian const m = meridian({convex(2, 0, 0, 90)});
  auto const s = march_levels(m, end_mill(0), cusp(0.005), {});
  CHECK_THAT(m.at(s[1]).y, WithinAbs(1.99499, 5e-6));
  CHECK_THAT(m.at(s[2]).y, WithinAbs(1.98996, 5e-6));
  CHECK_THAT(m.at(s[3]).y, WithinAbs(1.98492, 5e-6));
  REQUIRE(s.size() == 201); // the top, 199 whole steps, and the rest to the wall
  CHECK_THAT(m.at(s[199]).y, WithinAbs(0.122577, 5e-7));
}

TEST_CASE("a sharp tool in a fillet steps 1 to 1.01488 below the centre") {
  // Case 29, formula (24): R 3, h 0.005.
  double const theta = restep::geometry::degrees(std::acos(1.0 / 3));
  Meridian const m = meridian({concave(3, 0, theta, 0)});
  auto const s = march_levels(m, end_mill(0), cusp(0.005), {});
  CHECK_THAT(-m.at(s[1]).y, WithinAbs(1.01488, 5e-6));
}

TEST_CASE("the march down a round is the closed-form walk") {
  // Case 24: R 2, r 0.5, h 0.005 from 0 degrees; closed form and bisection. Tip heights from the centre.
  Meridian const m = meridian({convex(2, 0.5, 0, 90)});
  auto const s = march_levels(m, end_mill(0.5), cusp(0.005), {});
  CHECK_THAT(slope_at(m, s[1]), WithinAbs(5.85235, 5e-6));
  CHECK_THAT(slope_at(m, s[2]), WithinAbs(9.49476, 5e-6));
  CHECK_THAT(slope_at(m, s[3]), WithinAbs(13.1050, 5e-5));
  CHECK_THAT(m.at(s[1]).y, WithinAbs(1.98697, 5e-6));
  CHECK_THAT(m.at(s[2]).y, WithinAbs(1.96575, 5e-6));
  CHECK_THAT(m.at(s[3]).y, WithinAbs(1.93489, 5e-6));
  REQUIRE(s.size() == 25);
  CHECK_THAT(slope_at(m, s[23]), WithinAbs(85.4533, 5e-5));
  CHECK_THAT(m.at(s[23]).y, WithinAbs(-0.301822, 5e-7));
}

TEST_CASE("in the middle of a round the contacts are 3.61027 degrees apart") {
  // Case 23, formula (18): R 2, r 0.5, h 0.005.
  Meridian const m = meridian({convex(2, 0.5, 30, 60)});
  auto const s = march_levels(m, end_mill(0.5), cusp(0.005), {});
  CHECK_THAT(slope_at(m, s[1]) - slope_at(m, s[0]), WithinAbs(3.61027, 5e-6));
  // On the surface: the tip's arc turns about the same centre, R + r from it.
  CHECK_THAT((s[1] - s[0]) * 2 / 2.5, WithinAbs(0.126022, 5e-7));
  CHECK_THAT(distance(m.at(s[0]), m.at(s[1])) * 2 / 2.5, WithinAbs(0.126001, 5e-7));
}

TEST_CASE("the march down a fillet is the closed-form walk") {
  // Cases 30 and 31: R 3, r 0.5, h 0.005 from 90 degrees, 29 steps.
  Meridian const m = meridian({concave(3, 0.5, 90, 0)});
  auto const s = march_levels(m, end_mill(0.5), cusp(0.005), {});
  CHECK_THAT(slope_at(m, s[1]), WithinAbs(86.0313, 5e-5));
  CHECK_THAT(slope_at(m, s[2]), WithinAbs(83.0221, 5e-5));
  CHECK_THAT(slope_at(m, s[10]) - slope_at(m, s[11]), WithinAbs(2.95388, 5e-6));
  CHECK_THAT((s[11] - s[10]) * 3 / 2.5, WithinAbs(0.154665, 5e-7));
  REQUIRE(s.size() == 31);
  CHECK_THAT(slope_at(m, s[29]), WithinAbs(3.14102, 5e-6));
}

TEST_CASE("a constant stepdown for the same 5 um takes 192 steps where the plan takes 24") {
  // Worked example of section 1.6: R 2, r 0.5; a uniform stepdown of 0.0130.
  Meridian const m = meridian({convex(2, 0.5, 0, 90)});
  ConstantStep const constant = constant_stepdown(m, end_mill(0.5), cusp(0.005), {});
  CHECK(constant.levels == 193);
  CHECK_THAT(constant.stepdown, WithinAbs(0.0130, 5e-5));
  CHECK(plan_levels(m, end_mill(0.5), cusp(0.005), {}).s.size() == 25);
}

TEST_CASE("a constant stepdown for several meridians is that of the one that asks for the smallest") {
  // The round of the case above and a steep line beside it over the same 2.5 mm of height.
  Meridian const round = meridian({convex(2, 0.5, 0, 90)});
  Meridian const steep = meridian({line({0, 0}, {0.2, -2.5})});
  for (auto const& order : {std::array{&round, &steep}, std::array{&steep, &round}}) {
    ConstantStep const constant = constant_stepdown(order, end_mill(0.5), cusp(0.005), {});
    CHECK(constant.levels == 193);
    CHECK_THAT(constant.stepdown, WithinAbs(0.0130, 5e-5));
  }
}

TEST_CASE("a plan spreads the remainder until all cusps are equal") {
  double const r = GENERATE(0.0, 0.3, 1.0);
  Meridian const m = flange(1.5, 0, 2, r);
  Tool const tool = end_mill(r);
  LevelPlan const plan = plan_levels(m, tool, cusp(0.002), {});
  check_plan(m, tool, cusp(0.002), {}, plan);
  CHECK(plan.limited == 0);
  CHECK_FALSE(plan.target_missed);
  CHECK(plan.figure_max <= 0.002 * (1 + 2e-9));
  CHECK(plan.figure_min == Approx(plan.figure_max).epsilon(1e-6));
}

TEST_CASE("a wall is stepped by the stepdown limit alone, in equal steps") {
  Meridian const m = meridian({line({1, 0}, {1, -5})});
  LevelPlan const plan = plan_levels(m, end_mill(0), cusp(0.001), {0.3, 0});
  REQUIRE(plan.s.size() == 18); // 5 / 0.3 = 16.7
  for (std::size_t i = 0; i + 1 < plan.s.size(); ++i)
    CHECK(plan.s[i + 1] - plan.s[i] == Approx(5.0 / 17).epsilon(1e-8));
  CHECK(plan.limited == 17);
  CHECK(plan.figure_max == 0);
}

TEST_CASE("a stepdown limit that divides the wall leaves no sliver") {
  Meridian const m = meridian({line({1, 0}, {1, -3})});
  CHECK(plan_levels(m, end_mill(0), cusp(0.001), {0.3, 0}).s.size() == 11);
}

TEST_CASE("a wall without a stepdown limit keeps its first and last level") {
  Meridian const m = meridian({line({1, 0}, {1, -5})});
  CHECK(plan_levels(m, end_mill(0.5), cusp(0.001), {}).s == std::vector<double>{0, 5});
}

TEST_CASE("a meridian without length is one level") {
  Meridian const m = meridian({line({1, 0}, {1, 0})});
  CHECK(plan_levels(m, end_mill(0.5), cusp(0.001), {}).s == std::vector<double>{0});
}

TEST_CASE("a target coarser than the piece leaves first and last level") {
  Meridian const m = meridian({convex(0.5, 0.3, 30, 80)});
  LevelPlan const plan = plan_levels(m, end_mill(0.3), cusp(1), {});
  CHECK(plan.s == std::vector<double>{0, m.length()});
  CHECK(plan.figure_max < 1);
}

TEST_CASE("round, wall and fillet in one: the wall takes the remainder, the curves keep the target") {
  double const r = 0.5;
  Meridian const m = flange(2, 6, 3, r);
  Tool const tool = end_mill(r);
  StepLimits const limits{0.5, 0};
  LevelPlan const plan = plan_levels(m, tool, cusp(0.005), limits);
  check_plan(m, tool, cusp(0.005), limits, plan);
  CHECK(plan.limited >= 12);
  CHECK(plan.figure_max == Approx(0.005).epsilon(1e-8));
  CHECK(plan.s.size() == march_levels(m, tool, cusp(0.005), limits).size());
  // The steps on the wall are all alike.
  std::vector<double> on_wall;
  for (std::size_t i = 0; i + 1 < plan.s.size(); ++i)
    if (plan.s[i] >= m.starts()[1] && plan.s[i + 1] <= m.starts()[2])
      on_wall.push_back(plan.s[i + 1] - plan.s[i]);
  REQUIRE(on_wall.size() > 8);
  auto const [least, most] = std::minmax_element(on_wall.begin(), on_wall.end());
  CHECK(*most == Approx(*least).epsilon(1e-9));
  CHECK(*most <= 0.5);
}

TEST_CASE("without a stepdown limit the wall between round and fillet is taken in one step") {
  double const r = 0.5;
  Meridian const m = flange(2, 6, 3, r);
  Tool const tool = end_mill(r);
  LevelPlan const plan = plan_levels(m, tool, cusp(0.005), {});
  check_plan(m, tool, cusp(0.005), {}, plan);
  double longest = 0;
  for (std::size_t i = 0; i + 1 < plan.s.size(); ++i)
    longest = std::max(longest, plan.s[i + 1] - plan.s[i]);
  CHECK(longest > 6);
  CHECK(plan.figure_min == Approx(plan.figure_max).epsilon(1e-6));
}

TEST_CASE("a plan made again for the figure it reached has as many levels") {
  for (double const r : {0.0, 0.2, 0.5})
    for (double const target : {0.0005, 0.003, 0.02}) {
      Meridian const m = flange(1.2, 0.7, 2.5, r);
      Tool const tool = end_mill(r);
      LevelPlan const plan = plan_levels(m, tool, cusp(target), {});
      LevelPlan const again = plan_levels(m, tool, cusp(plan.figure_max), {});
      CHECK(again.s.size() == plan.s.size());
      CHECK(again.figure_max == Approx(plan.figure_max).epsilon(1e-8));
    }
}

TEST_CASE("no choice of levels on a fine grid needs fewer than the plan") {
  // Dynamic programming: fewest[j] = least number of steps from 0 to grid point j.
  struct Case {
    double R, wall, fillet, r, target, stepdown;
  };
  auto const c = GENERATE(Case{1, 0.2, 1.5, 0.4, 0.02, 0}, Case{1, 0.5, 1.5, 0, 0.06, 0.3},
                          Case{0.5, 0, 1, 0.3, 0.004, 0}, Case{2, 1, 0.8, 0.5, 0.03, 0.4});
  Meridian const m = flange(c.R, c.wall, c.fillet, c.r);
  Tool const tool = end_mill(c.r);
  std::size_t const points = 1200;
  std::vector<Vec2> grid;
  for (std::size_t j = 0; j <= points; ++j)
    grid.push_back(m.at(m.length() * static_cast<double>(j) / static_cast<double>(points)));
  std::vector<std::size_t> fewest(points + 1, std::numeric_limits<std::size_t>::max());
  fewest[0] = 0;
  for (std::size_t i = 0; i < points; ++i)
    for (std::size_t j = i + 1; j <= points; ++j) {
      if (c.stepdown > 0 && grid[i].y - grid[j].y > c.stepdown) break;
      if (cusp_height(tool, m, grid[i], grid[j]) > c.target) continue;
      fewest[j] = std::min(fewest[j], fewest[i] + 1);
    }
  LevelPlan const plan = plan_levels(m, tool, cusp(c.target), {c.stepdown, 0});
  check_plan(m, tool, cusp(c.target), {c.stepdown, 0}, plan);
  CHECK(plan.s.size() - 1 <= fewest[points]);
}

TEST_CASE("all lengths doubled double every position of the plan") {
  Meridian const once = flange(1, 1, 2, 0.4), twice = flange(2, 2, 4, 0.8);
  LevelPlan const a = plan_levels(once, end_mill(0.4, 4), cusp(0.003), {0.2, 0});
  LevelPlan const b = plan_levels(twice, end_mill(0.8, 8), cusp(0.006), {0.4, 0});
  REQUIRE(a.s.size() == b.s.size());
  for (std::size_t i = 0; i < a.s.size(); ++i)
    CHECK(b.s[i] == Approx(2 * a.s[i]).margin(1e-7));
}

TEST_CASE("a least stepdown that forbids the target is kept and the miss is told") {
  Meridian const m = meridian({convex(2, 0.5, 0, 90)});
  Tool const tool = end_mill(0.5);
  StepLimits const limits{0, 0.05};
  LevelPlan const plan = plan_levels(m, tool, cusp(0.005), limits);
  CHECK(plan.target_missed);
  CHECK(plan.figure_max > 0.005);
  for (std::size_t i = 0; i + 1 < plan.s.size(); ++i)
    CHECK(m.at(plan.s[i]).y - m.at(plan.s[i + 1]).y >= 0.05 * (1 - 1e-6));
}

TEST_CASE("a floor is crossed in steps that the bottom of the tool covers") {
  Meridian const m = meridian({line({0, 0}, {20, 0})});
  Tool const tool = end_mill(0.5, 6); // bottom 5 wide
  LevelPlan const plan = plan_levels(m, tool, cusp(0.001), {0.3, 0.1});
  REQUIRE(plan.s.size() == 5);
  for (std::size_t i = 0; i + 1 < plan.s.size(); ++i)
    CHECK_FALSE(leaves_ridge(tool, m.at(plan.s[i]), m.at(plan.s[i + 1])));
}

TEST_CASE("an Ra target is met pair by pair and spread alike") {
  double const r = 0.5;
  Meridian const m = flange(2, 0, 3, r);
  Tool const tool = end_mill(r);
  FinishTarget const target{FinishKind::ra, 0.0008, "n6"};
  LevelPlan const plan = plan_levels(m, tool, target, {});
  check_plan(m, tool, target, {}, plan);
  auto const figures = figures_of(m, tool, target, plan.s);
  auto const [least, most] = std::minmax_element(figures.begin(), figures.end());
  CHECK(*most <= 0.0008 * (1 + 2e-9));
  CHECK(*least == Approx(*most).epsilon(1e-3));
  // An arc cusp is 3.9 times its Ra: the levels are those of a cusp of about 3.1 um.
  std::size_t const like = plan_levels(m, tool, cusp(0.0031177), {}).s.size();
  CHECK(plan.s.size() + 2 >= like);
  CHECK(plan.s.size() <= like + 2);
}

TEST_CASE("the figures of given levels leave walls out of the least cusp") {
  double const r = 0.5;
  Meridian const m = flange(2, 6, 3, r);
  Tool const tool = end_mill(r);
  LevelPlan const plan = plan_levels(m, tool, cusp(0.005), {0.5, 0});
  std::vector<Vec2> levels;
  for (double const s : plan.s)
    levels.push_back(m.at(s));
  LevelFigures const figures = measure_levels(m, tool, cusp(0.005), levels);
  CHECK(figures.cusp_max == Approx(plan.figure_max).epsilon(1e-9));
  CHECK(figures.figure_max == figures.cusp_max);
  CHECK(figures.figure_min == 0);
  CHECK(figures.cusp_min > 0);
  CHECK(figures.stepdown_max <= 0.5 + 1e-9);
  // Between an arc's 0.2566 and what a side adds to it, formula (30).
  CHECK(figures.ra_max > 0.25 * figures.cusp_max);
  CHECK(figures.ra_max < 0.3 * figures.cusp_max);
}
