// Spirals down a cone, whose arcs grow with every turn, and spirals in few digits.

#include "fixture.hpp"
#include "motion/arc.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

using namespace restep;
using namespace restep::transform::testing;
using geometry::Vec2;

namespace {

/// A boss drafted by 10 degrees, cut counter-clockwise in arcs through three points of it or in chords.
struct Cone {
  int parts = 4; ///< of a turn
  bool arcs = true;
  bool open = true; ///< no closing turn
  double digits = 1e-4;
  static constexpr double top = -0.2, bottom = -3;
  static constexpr int turns = 18;

  static double radius(double z) { return 10 - z * std::tan(geometry::radians(10)); }
  /// How far a tip stands off the true surface, away from the material above 0, mm.
  static double stands_off(Vec3 p) {
    return (std::hypot(p.x, p.y) - radius(p.z)) * std::cos(geometry::radians(10));
  }
  double rounded(double x) const { return std::round(x / digits) * digits; }
  Vec3 at(double part) const {
    double const angle = 2 * std::numbers::pi * part / parts;
    double const z = std::max(bottom, top + (bottom - top) * part / (turns * parts));
    return {radius(z) * std::cos(angle), radius(z) * std::sin(angle), z};
  }
  Vec3 written(double part) const {
    Vec3 const p = at(part);
    return {rounded(p.x), rounded(p.y), rounded(p.z)};
  }

  std::vector<Step> program() const {
    Program p;
    Vec3 const first = written(0);
    p.rapid(first.x, first.y, 5).feed(first.x, first.y, first.z, 200);
    for (int i = 1; i <= (turns + (open ? 0 : 1)) * parts; ++i) {
      Vec3 const from = p.at, to = written(i);
      if (!arcs) {
        p.feed(to.x, to.y, to.z, 400);
        continue;
      }
      Vec2 const a = geometry::xy(from), b = geometry::xy(at(i - 0.5)), c = geometry::xy(to);
      double const area = 2 * cross(c - a, b - a);
      Vec2 const centre = a + (dot(b - a, b - a) / area) * left_normal(c - a) -
                          (dot(c - a, c - a) / area) * left_normal(b - a);
      p.arc(motion::PathKind::arc_ccw, motion::Plane::xy, to, {centre.x, centre.y, from.z}, 400);
    }
    p.rapid_z(5);
    return p.steps;
  }
};

cutter::Tool const ball4 = [] {
  cutter::Tool tool = cutter::parse_tool("ball 4").value();
  tool.number = 1;
  return tool;
}();

/// The farthest from the true surface, um.
double farthest(std::vector<Step> const& steps) {
  double most = 0;
  for (Step const& s : steps) {
    motion::Motion const* m = motion::motion_of(s);
    if (m == nullptr || !motion::is_arc(*m)) continue;
    for (double const share : {0.0, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0})
      most = std::max(most, 1000 * std::abs(Cone::stands_off(motion::point_at(*m, share))));
  }
  return most;
}

finish::PassReport one_micron(Restepped const& out) {
  REQUIRE(out.passes.size() == 1);
  INFO(out.passes.front().reason);
  CHECK(out.proof_failure == "");
  REQUIRE(out.passes.front().status == finish::PassStatus::restepped);
  return out.passes.front();
}

} // namespace

TEST_CASE("turns in arcs that grow are re-stepped in as many arcs, which follow the surface as the program's "
          "own do",
          "[spiral]") {
  for (int const parts : {2, 3, 4})
    for (bool const open : {true, false}) {
      INFO(parts << " arcs a turn" << (open ? "" : ", closed"));
      Cone const cone{.parts = parts, .open = open};
      auto const steps = cone.program();
      auto const out = run_restep(steps, {ball4}, cusp_target(1), 1e-4);
      auto const pass = one_micron(out);
      CHECK(pass.after.cusp_max_um <= 1.001);
      CHECK(pass.after.cusp_min_um >= 0.9);
      auto const arcs = std::count_if(out.steps.begin(), out.steps.end(), [](Step const& s) {
        motion::Motion const* m = motion::motion_of(s);
        return m != nullptr && motion::is_arc(*m);
      });
      CHECK(arcs % parts == 0);
      // Half a digit in plan and in height.
      CHECK(farthest(out.steps) <= farthest(steps) + 0.1);
    }
}

TEST_CASE("a spiral in three digits whose cusps miss the target by half is re-stepped, and then left alone",
          "[spiral]") {
  for (bool const arcs : {true, false})
    for (bool const open : {true, false}) {
      INFO((arcs ? "arcs" : "chords") << (open ? "" : ", closed"));
      Cone const cone{.parts = arcs ? 4 : 64, .arcs = arcs, .open = open, .digits = 1e-3};
      auto once = run_restep(cone.program(), {ball4}, cusp_target(1), 1e-3);
      auto const pass = one_micron(once);
      CHECK(pass.before.cusp_max_um > 1.5);
      CHECK(pass.after.cusp_max_um <= 1.001);
      auto const twice = run_restep(as_read(once.steps), {ball4}, cusp_target(1), 1e-3);
      REQUIRE(twice.passes.size() == 1);
      CHECK(twice.passes.front().reason == "it already has the least number of turns that meets the target");
    }
}
