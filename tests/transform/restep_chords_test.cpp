#include "cutter/cusp.hpp"
#include "fixture.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <functional>

/// Levels that do not match element by element: chords of another number on each level, corners that vanish.

using namespace restep;
using namespace restep::transform::testing;
using geometry::Vec2;

namespace {

// A rectangle with its own radius at each corner, by its own formula.
struct RoundedRectangle {
  double left, bottom, right, top;
  double left_bottom, right_bottom, right_top, left_top; // radii

  // Distance outwards (negative inside) of a point of the outline's offset curves.
  double outwards(Vec2 p) const {
    auto const corner = [&](double x, double y, double sx, double sy, double r) {
      Vec2 const centre{x - sx * r, y - sy * r};
      Vec2 const v = p - centre;
      return sx * v.x > 0 && sy * v.y > 0 ? std::hypot(v.x, v.y) - r : -1e300;
    };
    double const at_corner =
        std::max({corner(left, bottom, -1, -1, left_bottom), corner(right, bottom, 1, -1, right_bottom),
                  corner(right, top, 1, 1, right_top), corner(left, top, -1, 1, left_top)});
    if (at_corner > -1e299) return at_corner;
    return std::max({left - p.x, p.x - right, bottom - p.y, p.y - top});
  }
};

struct Case {
  char const* fixture;
  double resolution;
  double chords; // the tolerance of its chords, mm
  double side;   // 1 outside, -1 inside
  RoundedRectangle outline;
};

auto const cases = {
    Case{"chords", 1e-4, 0.002, 1, {-15, -11, 15, 11, 0, 6, 3, 4}},
    Case{"lost-corners", 1e-4, 0, -1, {-12, -8, 12, 8, 2.06, 2.13, 2.2, 3}},
    Case{"lost-corners-chords", 1e-3, 0.005, -1, {-12, -8, 12, 8, 2.06, 2.13, 2.2, 3}},
};

struct Ran {
  TrueStack stack;
  Restepped out;
};
Ran run_case(Case const& c, double target) {
  Ran ran{true_stacks(c.fixture).front(), {}};
  auto input = text::Input::open(fixture_path(c.fixture, "program.nc")).value();
  ran.out = run_restep(read_program(input), {ran.stack.tool}, cusp_target(target), c.resolution);
  return ran;
}

double offset_at(cutter::Meridian const& meridian, double z) {
  double low = 0;
  double high = meridian.length();
  for (int i = 0; i < 60; ++i) {
    double const middle = 0.5 * (low + high);
    (meridian.at(middle).y > z ? low : high) = middle;
  }
  return meridian.at(low).x;
}

// Calls with every point of the new levels: at the ends and in the middle of its moves, and how far it stands
// from where the part's geometry wants it, away from the material.
void for_new_levels(Case const& c, Ran const& ran,
                    std::function<void(Step const&, double, bool)> const& check) {
  for (Step const& s : ran.out.steps) {
    motion::Motion const* m = motion::motion_of(s);
    if (m == nullptr || !s.generated || !motion::is_cutting(*m) || m->from.z != m->to.z) continue;
    double const d = offset_at(ran.stack.meridian, m->to.z);
    // The leads stand off the contour.
    auto const off = [&](Vec2 p) { return c.side * c.outline.outwards(p) - d; };
    Vec2 const a = xy(m->from);
    Vec2 const b = xy(m->to);
    if (std::abs(off(a)) > 0.006 || std::abs(off(b)) > 0.006) continue;
    check(s, off(a), true);
    check(s, off(b), true);
    if (!motion::is_arc(*m)) check(s, off(0.5 * (a + b)), false);
  }
}

} // namespace

TEST_CASE("levels of chords and levels that lose a corner are one pass", "[restep]") {
  for (Case const& c : cases) {
    INFO(c.fixture);
    auto const ran = run_case(c, 1);
    REQUIRE(ran.out.proof_failure == "");
    REQUIRE(ran.out.passes.size() == 1);
    finish::PassReport const& pass = ran.out.passes.front();
    INFO(pass.reason);
    CHECK(pass.before.levels == ran.stack.levels.size());
    REQUIRE(pass.status == finish::PassStatus::restepped);
    REQUIRE(pass.surface.size() == ran.stack.surface.size());
    for (std::size_t i = 0; i < pass.surface.size(); ++i) {
      auto const& truth = ran.stack.surface[i];
      if (truth.contains("radius_mm"))
        CHECK(pass.surface[i].radius == Approx(truth["radius_mm"].get<double>()).margin(0.001));
      else
        CHECK(pass.surface[i].angle == Approx(truth["angle_deg"].get<double>()).margin(0.02));
    }
  }
}

TEST_CASE("chords and lost corners leave cusps of 0.90 to 1.00 of the target", "[restep]") {
  for (Case const& c : cases)
    for (double const target : {1.0, 2.0, 5.0}) {
      INFO(c.fixture << " at " << target);
      auto const ran = run_case(c, target);
      REQUIRE(ran.out.passes.size() == 1);
      finish::PassReport const& pass = ran.out.passes.front();
      if (pass.status == finish::PassStatus::kept) continue;
      double shift = 0;
      for (std::size_t k = 0; k < ran.stack.levels.size(); ++k)
        shift += (ran.stack.levels[k].x - pass.before.positions[k].x) /
                 static_cast<double>(ran.stack.levels.size());
      auto levels = pass.after.positions;
      for (std::size_t k = 1; k < levels.size(); ++k) {
        Vec2 const above{levels[k - 1].x + shift, levels[k - 1].y};
        Vec2 const below{levels[k].x + shift, levels[k].y};
        double const cusp =
            1000 * cutter::cusp_peak_to_valley(ran.stack.tool, ran.stack.meridian, above, below);
        INFO("level " << k << " of " << levels.size());
        CHECK(cusp <= 1.005 * target);
        if (above.y - below.y <= 0.95 * pass.after.stepdown_max_mm)
          CHECK(cusp >= 0.90 * target * std::pow(1 - 1.0 / static_cast<double>(levels.size()), 2));
      }
    }
}

TEST_CASE("new levels of chords stand on the true contours as the program's own do", "[restep]") {
  for (Case const& c : cases) {
    auto const ran = run_case(c, 1);
    std::size_t checked = 0;
    for_new_levels(c, ran, [&](Step const& s, double off, bool vertex) {
      INFO(c.fixture << " at z " << motion::motion_of(s)->to.z << ", x " << motion::motion_of(s)->to.x
                     << " y " << motion::motion_of(s)->to.y);
      // Along the normal: half a digit in X and Y each (0.71) of the program's point that was moved, half of
      // one for the new point, which takes the neighbour that displaces least, and half for the height's
      // rounding.
      double const digits = 1.71 * c.resolution;
      CHECK(off >= -digits - (vertex ? 0 : 1.02 * c.chords));
      CHECK(off <= digits + (vertex ? 0 : 1.02 * c.chords));
      ++checked;
    });
    CHECK(checked > 100);
  }
}

TEST_CASE("re-stepping a re-stepped pass of chords at the same target changes nothing", "[restep]") {
  for (Case const& c : cases) {
    INFO(c.fixture);
    auto const once = run_case(c, 1);
    std::vector<Step> written = as_read(once.out.steps);
    for (Step& s : written) {
      if (motion::Motion* m = motion::motion_of(s))
        for (motion::Vec3* p : {&m->from, &m->to})
          for (double* v : {&p->x, &p->y, &p->z})
            *v = std::round(*v / c.resolution) * c.resolution;
    }
    auto const twice = run_restep(written, {once.stack.tool}, cusp_target(1), c.resolution);
    REQUIRE(twice.passes.size() == 1);
    INFO(twice.passes.front().reason);
    CHECK(twice.passes.front().status == finish::PassStatus::kept);
    CHECK(twice.passes.front().before.levels == once.out.passes.front().after.levels);
  }
}
