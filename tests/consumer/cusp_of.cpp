#include <cstdio>
#include <cutter/step_solver.hpp>

// How many levels does a round of 1.5 mm want under a bull-nose cutter for a cusp of 1 um?
int main() {
  using namespace restep::cutter;
  auto const tool = parse_tool("bull 3 r0.3");
  auto const target = parse_finish("cusp:1um");
  if (!tool || !target) return 1;
  // The corner-arc centre runs about the round's centre with radius R + r.
  double const rho = 1.5 + tool->corner_radius;
  Piece round;
  round.shape = Piece::Shape::arc;
  round.rho = rho;
  round.centre = {0, -rho};
  round.from = {0, 0};
  round.to = {rho, -rho};
  LevelPlan const plan = plan_levels(Meridian({round}), *tool, *target, {});
  std::printf("%zu levels, cusps at most %.3f um\n", plan.s.size(), plan.figure_max * 1000);
  return plan.figure_max <= target->limit * 1.0001 ? 0 : 1;
}
