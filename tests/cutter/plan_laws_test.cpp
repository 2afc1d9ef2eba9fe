// Laws of the level plan on random meridians: rounds, chamfers, drafts, walls, fillets and floors in any
// order that a milled flank can have, with tangent joints and without.

#include "cutter/step_solver.hpp"
#include "shapes.hpp"

#include <catch2/catch.hpp>

#include <random>

using namespace restep::cutter;
using namespace restep::cutter::shapes;

namespace {

class Workshop {
public:
  explicit Workshop(unsigned seed)
      : random_(seed) {}

  double between(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random_);
  }
  int choice(int count) { return std::uniform_int_distribution<int>(0, count - 1)(random_); }

  Tool tool() {
    double const radii[] = {0, 0.2, 0.5, 1, 3};
    return end_mill(radii[choice(5)], 6);
  }

  /// Two to five pieces, each going on where the last one ended.
  Meridian meridian(double r) {
    std::vector<Piece> pieces;
    Vec2 at{0, 0};
    double theta = choice(2) == 0 ? 0 : between(2, 60);
    int const count = 2 + choice(4);
    for (int i = 0; i < count; ++i) {
      Piece piece;
      switch (choice(4)) {
      case 0: piece = line(at, at + between(0.2, 2) * Vec2{normal(theta).y, -normal(theta).x}); break;
      case 1: {
        double const to = choice(2) == 0 ? 90 : between(theta, 90);
        if (to - theta < 1) continue;
        piece = convex(between(0.3, 2), r, theta, to);
        theta = to;
        break;
      }
      case 2: {
        double const to = choice(2) == 0 ? 0 : between(0, theta);
        if (theta - to < 1) continue;
        piece = concave(r + between(0.3, 2), r, theta, to);
        theta = to;
        break;
      }
      default: // a joint that is not tangent: an inner corner, or with a sharp tool an outer one
        theta = r == 0 ? between(1, 90) : between(1, std::max(2.0, theta));
        piece = line(at, at + between(0.2, 1) * Vec2{normal(theta).y, -normal(theta).x});
      }
      Vec2 const shift = at - piece.from;
      piece.from = at;
      piece.to = piece.to + shift;
      piece.centre = piece.centre + shift;
      at = piece.to;
      pieces.push_back(piece);
    }
    return Meridian(pieces);
  }

private:
  std::mt19937 random_;
};

} // namespace

TEST_CASE("on random flanks every plan keeps its promises") {
  for (unsigned seed = 0; seed < 250; ++seed) {
    Workshop workshop(seed);
    Tool const tool = workshop.tool();
    Meridian const m = workshop.meridian(tool.corner_radius);
    if (!(m.length() > 0)) continue;
    FinishTarget const target{FinishKind::cusp, std::pow(10, workshop.between(-3, -1)), ""};
    StepLimits const limits{workshop.choice(2) == 0 ? 0 : workshop.between(0.1, 1), 0};
    INFO("seed " << seed << " r " << tool.corner_radius << " target " << target.limit << " stepdown "
                 << limits.max_stepdown);
    LevelPlan const plan = plan_levels(m, tool, target, limits);
    REQUIRE(plan.s.size() >= 2);
    CHECK(plan.s.front() == 0);
    CHECK(plan.s.back() == m.length());
    CHECK_FALSE(plan.target_missed);
    CHECK(plan.figure_max <= target.limit * (1 + 2 * target_slack));
    for (std::size_t i = 0; i + 1 < plan.s.size(); ++i) {
      CHECK(plan.s[i + 1] > plan.s[i]);
      Vec2 const upper = m.at(plan.s[i]), lower = m.at(plan.s[i + 1]);
      CHECK(bottom_used(tool, upper, lower) <= 1 + 1e-9);
      if (limits.max_stepdown > 0) CHECK(upper.y - lower.y <= limits.max_stepdown * (1 + 1e-9));
    }
    // Not more levels than the greedy march, and as many again for the figure that was reached.
    CHECK(plan.s.size() <= march_levels(m, tool, target, limits).size());
    if (plan.figure_max > 1e-9) {
      FinishTarget const reached{FinishKind::cusp, plan.figure_max, ""};
      CHECK(plan_levels(m, tool, reached, limits).s.size() == plan.s.size());
    }
    // A constant stepdown never takes fewer levels.
    ConstantStep const constant = constant_stepdown(m, tool, target, limits);
    if (constant.levels > 0) CHECK(constant.levels >= plan.s.size());
  }
}

TEST_CASE("a finer target never takes fewer levels, a larger stepdown never more") {
  for (unsigned seed = 0; seed < 60; ++seed) {
    Workshop workshop(seed + 1000);
    Tool const tool = workshop.tool();
    Meridian const m = workshop.meridian(tool.corner_radius);
    if (!(m.length() > 0)) continue;
    INFO("seed " << seed);
    std::size_t last = 0;
    for (double const limit : {0.1, 0.03, 0.01, 0.003}) {
      std::size_t const levels = plan_levels(m, tool, {FinishKind::cusp, limit, ""}, {0.5, 0}).s.size();
      CHECK(levels >= last);
      last = levels;
    }
    for (double const stepdown : {0.7, 1.0, 0.0}) {
      std::size_t const levels = plan_levels(m, tool, {FinishKind::cusp, 0.003, ""}, {stepdown, 0}).s.size();
      CHECK(levels <= last);
      last = levels;
    }
  }
}

TEST_CASE("a least stepdown is kept wherever the surface falls") {
  for (unsigned seed = 0; seed < 60; ++seed) {
    Workshop workshop(seed + 2000);
    double const r = 0.5;
    Tool const tool = end_mill(r);
    Meridian const m = flange(workshop.between(0.5, 2), workshop.between(0, 2), workshop.between(0.8, 3), r);
    StepLimits const limits{0, workshop.between(0.01, 0.05)};
    FinishTarget const target{FinishKind::cusp, 0.001, ""};
    LevelPlan const plan = plan_levels(m, tool, target, limits);
    INFO("seed " << seed);
    for (std::size_t i = 0; i + 1 < plan.s.size(); ++i)
      CHECK(m.at(plan.s[i]).y - m.at(plan.s[i + 1]).y >= limits.min_stepdown * (1 - 1e-6));
    CHECK(plan.target_missed == (plan.figure_max > 0.001 * (1 + 1e-9)));
  }
}

TEST_CASE("a plan can hold five thousand levels") {
  Meridian const m = meridian({convex(10, 0, 0, 90)});
  LevelPlan const plan = plan_levels(m, end_mill(0), {FinishKind::cusp, 0.001, ""}, {});
  // Formula (20): R^2/(h (2R + h)) = 4999.75 steps.
  CHECK(plan.s.size() == 5001);
  CHECK(plan.figure_min == Approx(plan.figure_max).epsilon(1e-5));
}

TEST_CASE("a sharp outer joint of the meridian needs no levels about it") {
  // Two planes of 30 and 60 degrees whose tip lines meet at a point: the tool stands off the surface within
  // r tan 15 degrees of it on either side.
  double const r = 0.5;
  Piece const upper = plane(30, 1), lower = plane(60, 1, upper.to);
  Meridian const m = meridian({upper, lower});
  Tool const tool = end_mill(r);
  FinishTarget const target{FinishKind::cusp, 0.0005, ""};
  LevelPlan const plan = plan_levels(m, tool, target, {});
  CHECK_FALSE(plan.target_missed);
  CHECK(plan.s.size() < 100);
  double const joint = m.starts()[1], off = r * std::tan(restep::geometry::radians(15));
  for (double const s : plan.s)
    CHECK(std::abs(s - joint) >= off * (1 - 1e-6));
}

TEST_CASE("a round tighter than the corner radius is an edge and needs no levels") {
  double const r = 0.5;
  Piece const top = line({-1, 0}, {0, 0});
  Piece arc = convex(-0.002, r, 0, 90);
  Vec2 const shift = top.to - arc.from;
  arc.from = arc.from + shift;
  arc.to = arc.to + shift;
  arc.centre = arc.centre + shift;
  Piece const wall = line(arc.to, arc.to - Vec2{0, 1});
  LevelPlan const plan =
      plan_levels(meridian({top, arc, wall}), end_mill(r), {FinishKind::cusp, 0.0002, ""}, {});
  CHECK(plan.s.size() < 8);
}
