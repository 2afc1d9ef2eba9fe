#include "cutter/cusp.hpp"
#include "fixture.hpp"
#include "motion/arc.hpp"
#include "proof/spiral_model.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <map>
#include <numbers>
#include <utility>

using namespace restep;
using namespace restep::transform::testing;
using Catch::Matchers::StartsWith;
using geometry::Vec2;

namespace {

Restepped restepped(std::string const& fixture, transform::PassTarget const& target,
                    double resolution = 1e-4) {
  // The steps' comments are views into it.
  static std::deque<text::Input> inputs;
  text::Input& input = inputs.emplace_back(text::Input::open(fixture_path(fixture, "program.nc")).value());
  return run_restep(read_program(input), {true_stacks(fixture).front().tool}, target, resolution);
}

transform::PassTarget named_wall(double stepdown) {
  transform::PassTarget target;
  target.limits.max_stepdown = stepdown;
  target.only = {1};
  return target;
}

/// A ring turned about the origin, told in chords of 64 to the turn that all stand above each other: tip
/// radius `radius` + d at height z, from `top` down in `turns`, z falling evenly; a closing turn and leads.
/// `inside` is a hole: the material lies outside.
struct Ring {
  double radius = 20;
  bool inside = false;
  bool ccw = true;
  double start = 0; ///< angle at which the spiral begins; it ends, and its closing turn begins, at 0
  double top = -0.2, bottom = -2.4;
  int turns = 20;
  double digits = 1e-4;
  bool ramp = false;
  bool arcs_close = true; ///< the closing turn in two half circles instead of chords
  bool open = false;      ///< no closing turn: a short way at the last height leads away from the material
  static constexpr int chords = 64;

  /// A round of tip radius 3 that is tangent to the top plane at z = 0.
  static double offset(double z) { return std::sqrt(9 - (z + 3) * (z + 3)); }
  Vec2 at(double angle, double z) const {
    double const r = radius + (inside ? -offset(z) : offset(z));
    return {r * std::cos(angle), (ccw ? 1 : -1) * r * std::sin(angle)};
  }
  double rounded(double x) const { return std::round(x / digits) * digits; }
  Vec3 place(double angle, double z) const {
    Vec2 const p = at(angle, z);
    return {rounded(p.x), rounded(p.y), rounded(z)};
  }

  std::vector<Step> program() const {
    Program p;
    double const whole = 2 * std::numbers::pi;
    double const way = turns * whole - start;
    Vec3 const first = place(start, top);
    Vec3 const air = place(start, top + 3);
    p.rapid(first.x, first.y, 5);
    if (ramp) {
      // Down from the air on the way round.
      Vec3 const lead = place(start - 0.4, top);
      p.feed(lead.x, lead.y, air.z, 200);
      p.feed(first.x, first.y, first.z, 200);
    } else {
      p.feed(first.x, first.y, first.z, 200);
    }
    int const count = static_cast<int>(std::lround(way / whole * chords));
    for (int i = 1; i <= count; ++i) {
      double const share = static_cast<double>(i) / count;
      Vec3 const to = place(start + share * way, top + share * (bottom - top));
      p.feed(to.x, to.y, to.z, 400);
    }
    if (open) {
      Vec2 const away = (inside ? 0.9 : 1.1) * at(0.1, bottom);
      p.feed(rounded(away.x), rounded(away.y), nowhere, 400);
    } else if (arcs_close) {
      Vec3 const begin = place(0, bottom);
      for (double const x : {-begin.x, begin.x})
        p.arc(ccw ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw, motion::Plane::xy, {x, 0, nowhere},
              {0, 0, rounded(bottom)}, 400);
    } else {
      for (int i = 1; i <= chords; ++i) {
        Vec3 const to = place(whole * i / chords, bottom);
        p.feed(to.x, to.y, to.z, 400);
      }
    }
    p.rapid_z(5);
    return p.steps;
  }

  /// How far a tip is from the true surface, away from the material above 0.
  double stands_off(Vec3 p) const {
    double const d = (inside ? -1 : 1) * (std::hypot(p.x, p.y) - radius);
    return std::hypot(d, p.z + 3) - 3;
  }
};

cutter::Tool const ball2 = [] {
  cutter::Tool tool = cutter::parse_tool("ball 2").value();
  tool.number = 1;
  return tool;
}();

Restepped run_ring(Ring const& ring, double target) {
  return run_restep(ring.program(), {ball2}, cusp_target(target), ring.digits);
}

/// The heights at which the generated motions pass each angle of the ring, from the top down.
std::map<int, std::vector<Vec3>> columns(Restepped const& out) {
  std::map<int, std::vector<Vec3>> columns;
  for (Step const& s : out.steps)
    if (motion::Motion const* m = motion::motion_of(s); m != nullptr && motion::is_cutting(*m)) {
      double const angle = std::atan2(m->to.y, m->to.x) / (2 * std::numbers::pi) * Ring::chords;
      int const column = static_cast<int>(std::lround(angle) + Ring::chords) % Ring::chords;
      columns[column].push_back(m->to);
    }
  return columns;
}

std::vector<Ring> rings() {
  std::vector<Ring> all(9);
  all[1].inside = true;
  all[2].ccw = false;
  all[3].inside = true;
  all[3].ccw = false;
  all[4].start = std::numbers::pi / 2;
  all[5].digits = 1e-3;
  all[6].ramp = true;
  all[7].arcs_close = false;
  all[8].inside = true;
  all[8].start = 1.75 * std::numbers::pi;
  all[8].arcs_close = false;
  return all;
}

} // namespace

TEST_CASE("a spiral's surface is found as the part's geometry has it", "[spiral]") {
  for (char const* fixture : {"spiral", "spiral-wall"}) {
    INFO(fixture);
    TrueStack const stack = true_stacks(fixture).front();
    auto const out = restepped(fixture, {});
    REQUIRE(out.passes.size() == 1);
    finish::PassReport const& pass = out.passes.front();
    CHECK(pass.shape == "spiral");
    CHECK(pass.first_line >= stack.first_line);
    CHECK(pass.last_line <= stack.last_line);
    REQUIRE(pass.before.levels == stack.levels.size());
    REQUIRE(pass.surface.size() == stack.surface.size());
    for (std::size_t i = 0; i < pass.surface.size(); ++i) {
      auto const& truth = stack.surface[i];
      if (truth.contains("radius_mm"))
        CHECK(pass.surface[i].radius == Approx(truth["radius_mm"].get<double>()).margin(0.001));
      else
        CHECK(pass.surface[i].angle == Approx(truth["angle_deg"].get<double>()).margin(0.02));
    }
    for (std::size_t k = 0; k < stack.levels.size(); ++k) {
      CHECK(pass.before.positions[k].y == Approx(stack.levels[k].y).margin(1e-9));
      CHECK(pass.before.positions[k].x - pass.before.positions[0].x ==
            Approx(stack.levels[k].x - stack.levels[0].x).margin(3e-4));
    }
  }
}

TEST_CASE("a spiral's new turns leave cusps of 0.90 to 1.00 of the target on the true surface", "[spiral]") {
  TrueStack const stack = true_stacks("spiral").front();
  for (double const target : {1.0, 2.0, 3.0}) {
    INFO(target << " um");
    auto const out = restepped("spiral", cusp_target(target));
    REQUIRE(out.proof_failure == "");
    finish::PassReport const& pass = out.passes.front();
    REQUIRE(pass.status == finish::PassStatus::restepped);
    double const shift = stack.levels.back().x - pass.after.positions.back().x;
    double const turns = static_cast<double>(pass.after.levels);
    for (std::size_t k = 1; k < pass.after.positions.size(); ++k) {
      Vec2 const above = pass.after.positions[k - 1] + Vec2{shift, 0};
      Vec2 const below = pass.after.positions[k] + Vec2{shift, 0};
      double const cusp = 1000 * cutter::cusp_peak_to_valley(stack.tool, stack.meridian, above, below);
      CHECK(cusp <= 1.005 * target);
      CHECK(cusp >= 0.90 * target * std::pow(1 - 1 / turns, 2));
    }
    CHECK(pass.after.cusp_max_um <= 1.001 * target);
    CHECK(pass.after.cusp_min_um >= 0.90 * target * std::pow(1 - 1 / turns, 2));
    CHECK(pass.gouge_um <= 700 * 1e-4);
  }
}

TEST_CASE("where a spiral's chords leave more material than the target, its report says so", "[spiral]") {
  Restepped const ran = restepped("spiral", cusp_target(2));
  REQUIRE(ran.passes.size() == 1);
  finish::PassReport const& pass = ran.passes.front();
  // The contour's hollow is posted in chords within 1 um, which stand off it.
  REQUIRE(pass.peak_um > 2.5);
  CHECK(pass.peak_um < 2.0 + 1.1);
  CHECK_THAT(pass.reason, Catch::Contains(fmt::format("leave up to {:.2f} um of material", pass.peak_um)));
}

TEST_CASE("a spiral begins, ends and closes where it did, without a gap", "[spiral]") {
  for (char const* fixture : {"spiral", "spiral-wall"}) {
    INFO(fixture);
    auto input = text::Input::open(fixture_path(fixture, "program.nc")).value();
    auto const steps = read_program(input);
    auto const target = std::string(fixture) == "spiral" ? cusp_target(2) : named_wall(0.3);
    auto const out = run_restep(steps, {true_stacks(fixture).front().tool}, target, 1e-4);
    REQUIRE(out.passes.front().status == finish::PassStatus::restepped);
    CHECK(out.proof_failure == "");
    CHECK(first_gap(out.steps) == out.steps.size());
    // What was not made anew is what the program had before and behind the spiral.
    auto const generated = [](Step const& s) { return s.generated; };
    auto const first = std::find_if(out.steps.begin(), out.steps.end(), generated);
    auto const last = std::find_if(out.steps.rbegin(), out.steps.rend(), generated).base();
    auto const before = static_cast<std::size_t>(first - out.steps.begin());
    auto const behind = static_cast<std::size_t>(out.steps.end() - last);
    REQUIRE(before > 0);
    for (std::size_t i = 0; i < before; ++i)
      CHECK(same_event(out.steps[i].event, steps[i].event));
    for (std::size_t i = 1; i <= behind; ++i)
      CHECK(same_event(out.steps[out.steps.size() - i].event, steps[steps.size() - i].event));
    CHECK(std::all_of(first, last, generated));
    double z = 1e9;
    for (auto s = first; s != last; ++s) {
      motion::Motion const& m = *motion::motion_of(*s);
      CHECK(m.to.z <= z);
      z = m.to.z;
      CHECK(m.feed == 400);
    }
  }
}

TEST_CASE("re-stepping a re-stepped spiral changes nothing", "[spiral]") {
  for (char const* fixture : {"spiral", "spiral-open", "spiral-wall"}) {
    INFO(fixture);
    auto const target = std::string(fixture) == "spiral-wall" ? named_wall(0.3) : cusp_target(2);
    auto const once = restepped(fixture, target);
    auto const twice = run_restep(as_read(once.steps), {true_stacks(fixture).front().tool}, target, 1e-4);
    REQUIRE(twice.passes.size() == 1);
    CHECK(twice.passes.front().status == finish::PassStatus::kept);
    CHECK(twice.passes.front().reason == "it already has the least number of turns that meets the target");
    CHECK(same_stream(twice.steps, once.steps));
  }
}

TEST_CASE("a spiral down a wall is re-stepped in its own helical arcs, and only where its pass is named",
          "[spiral]") {
  auto const kept = restepped("spiral-wall", cusp_target(2));
  CHECK(kept.passes.front().status == finish::PassStatus::kept);
  CHECK(kept.passes.front().reason == "a vertical wall: its stepdown leaves no cusp");

  auto const out = restepped("spiral-wall", named_wall(0.3));
  finish::PassReport const& pass = out.passes.front();
  REQUIRE(pass.status == finish::PassStatus::restepped);
  CHECK(pass.after.levels == 14); // 3.8 mm in 13 turns and the closing one
  CHECK(pass.after.stepdown_max_mm <= 0.3);
  CHECK(pass.gouge_um <= 700 * 1e-4);
  std::size_t helices = 0;
  for (Step const& s : out.steps)
    if (motion::Motion const* m = motion::motion_of(s); m != nullptr && s.generated && motion::is_arc(*m)) {
      ++helices;
      CHECK(distance(geometry::xy(m->from), geometry::xy(m->centre)) ==
            Approx(distance(geometry::xy(m->to), geometry::xy(m->centre))).margin(0.0002));
    }
  CHECK(helices == 13 * 6);
}

TEST_CASE("a bore in whole circles is re-stepped in whole circles", "[spiral]") {
  Program p;
  p.rapid(10, 0, 2).feed(10, 0, 0, 100);
  for (int k = 1; k <= 10; ++k)
    p.arc(motion::PathKind::arc_ccw, motion::Plane::xy, {10, 0, -0.5 * k}, {0, 0, -0.5 * (k - 1)}, 300);
  p.arc(motion::PathKind::arc_ccw, motion::Plane::xy, {10, 0, nowhere}, {0, 0, -5}, 300);
  p.feed(0, 0, nowhere, 300).rapid_z(5);
  auto const out = run_restep(p.steps, {ball2}, named_wall(0.8), 1e-4);
  REQUIRE(out.passes.size() == 1);
  REQUIRE(out.passes.front().status == finish::PassStatus::restepped);
  CHECK(out.proof_failure == "");
  CHECK(out.passes.front().after.levels == 8); // 5 mm in 7 turns and the closing one
  CHECK(std::count_if(out.steps.begin(), out.steps.end(), [](Step const& s) { return s.generated; }) == 7);
}

TEST_CASE("every point of a re-stepped ring lies on the true surface, every cusp within the target",
          "[spiral]") {
  for (Ring const& ring : rings()) {
    INFO((ring.inside ? "inside" : "outside")
         << (ring.ccw ? " ccw" : " cw") << " from " << ring.start << " digits " << ring.digits
         << (ring.ramp ? " ramp" : "") << (ring.arcs_close ? "" : " chords"));
    auto const out = run_ring(ring, 2);
    REQUIRE(out.passes.size() == 1);
    finish::PassReport const& pass = out.passes.front();
    INFO(pass.reason);
    REQUIRE(pass.status == finish::PassStatus::restepped);
    CHECK(out.proof_failure == "");
    CHECK(pass.surface.size() == 1);
    CHECK(pass.surface.front().radius == Approx(2).margin(ring.digits > 5e-4 ? 0.002 : 0.001));
    for (Step const& s : out.steps)
      if (motion::Motion const* m = motion::motion_of(s); m != nullptr && s.generated)
        // Half a digit in plan and in height, and what the fit may miss by.
        CHECK(std::abs(ring.stands_off(m->to)) <= 0.7 * ring.digits + 0.0001);
    // The true cusps of the column of points above each joint of the chords.
    cutter::Piece round;
    round.shape = cutter::Piece::Shape::arc;
    round.centre = {0, -3};
    round.rho = 3;
    round.from = {Ring::offset(ring.top), ring.top};
    round.to = {Ring::offset(ring.bottom), ring.bottom};
    cutter::Meridian const surface({round});
    for (auto const& [column, places] : columns(out)) {
      for (std::size_t k = 1; k + 1 < places.size(); ++k) {
        auto const tip = [&](Vec3 p) {
          return Vec2{(ring.inside ? -1 : 1) * (std::hypot(p.x, p.y) - ring.radius), p.z};
        };
        if (tip(places[k - 1]).y > ring.top || tip(places[k]).y < ring.bottom + 0.1) continue;
        double const cusp =
            1000 * cutter::cusp_peak_to_valley(ball2, surface, tip(places[k - 1]), tip(places[k]));
        CHECK(cusp <= 2 * (ring.digits > 5e-4 ? 1.3 : 1.03));
      }
    }
  }
}

TEST_CASE("a ring without a closing turn keeps its last turn and is cut nowhere below it", "[spiral]") {
  for (Ring ring : rings()) {
    ring.open = true;
    auto const steps = ring.program();
    for (double const target : {0.5, 2.0, 8.0}) {
      INFO((ring.inside ? "inside" : "outside")
           << (ring.ccw ? " ccw" : " cw") << " from " << ring.start << " digits " << ring.digits
           << (ring.ramp ? " ramp" : "") << " target " << target);
      auto const out = run_ring(ring, target);
      REQUIRE(out.passes.size() == 1);
      finish::PassReport const& pass = out.passes.front();
      INFO(pass.reason);
      CHECK(out.proof_failure == "");
      if (pass.status == finish::PassStatus::kept) {
        CHECK_THAT(pass.reason, StartsWith("it already has the least number of turns that meets the target"));
        continue;
      }
      CHECK(pass.after.cusp_max_um <= 1.002 * target);
      CHECK(first_gap(out.steps) == out.steps.size());
      // The last turn, what leads out and the retract.
      for (std::size_t i = 1; i <= Ring::chords + 2; ++i)
        CHECK(same_event(out.steps[out.steps.size() - i].event, steps[steps.size() - i].event));
      bool climbs = false;
      for (Step const& s : out.steps) {
        motion::Motion const* m = motion::motion_of(s);
        if (m == nullptr || !s.generated) continue;
        bool const rises = m->to.z > m->from.z;
        climbs = climbs || rises;
        CHECK((!rises || geometry::xy(m->to) == geometry::xy(m->from)));
        CHECK(ring.stands_off(m->to) >= -0.7 * ring.digits - 0.0002);
      }
      if (target < 1) CHECK(climbs);
      auto const lowest = [](std::vector<Vec3> const& places) {
        return std::min_element(places.begin(), places.end(),
                                [](Vec3 const& a, Vec3 const& b) { return a.z < b.z; })
            ->z;
      };
      Restepped own;
      own.steps = steps;
      auto const was = columns(own);
      for (auto const& [column, places] : columns(out))
        CHECK(lowest(places) >= lowest(was.at(column)) - 1e-9);
    }
  }
}

TEST_CASE("re-stepping a re-stepped ring without a closing turn changes nothing", "[spiral]") {
  for (double const target : {0.5, 2.0}) {
    INFO(target);
    Ring ring;
    ring.open = true;
    auto const once = run_ring(ring, target);
    REQUIRE(once.passes.front().status == finish::PassStatus::restepped);
    auto const twice = run_restep(as_read(once.steps), {ball2}, cusp_target(target), ring.digits);
    REQUIRE(twice.passes.size() == 1);
    CHECK_THAT(twice.passes.front().reason,
               StartsWith("it already has the least number of turns that meets the target"));
    CHECK(same_stream(twice.steps, once.steps));
  }
}

TEST_CASE("a ring is re-stepped for every tool whose cusps are known", "[spiral]") {
  for (auto const& [text, target] :
       {std::pair{"flat 6", 8.0}, std::pair{"bull 4 r1", 4.0}, std::pair{"ball 4", 0.5}}) {
    INFO(text);
    cutter::Tool tool = cutter::parse_tool(text).value();
    tool.number = 1;
    auto const out = run_restep(Ring{}.program(), {tool}, cusp_target(target), 1e-4);
    REQUIRE(out.passes.size() == 1);
    finish::PassReport const& pass = out.passes.front();
    INFO(pass.reason);
    REQUIRE(pass.status == finish::PassStatus::restepped);
    CHECK(out.proof_failure == "");
    CHECK(pass.surface.front().radius == Approx(3 - tool.corner_radius).margin(0.001));
    CHECK(pass.after.cusp_max_um <= 1.001 * target);
    CHECK(pass.gouge_um <= 0.07);
  }
}

TEST_CASE("a ramp that leads into a spiral stays as it is", "[spiral]") {
  Ring ring;
  ring.ramp = true;
  auto const steps = ring.program();
  auto const out = run_ring(ring, 2);
  REQUIRE(out.passes.front().status == finish::PassStatus::restepped);
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(same_event(out.steps[i].event, steps[i].event));
    CHECK_FALSE(out.steps[i].generated);
  }
  CHECK(out.steps[3].generated);
}

TEST_CASE("a spiral ends at a rising move, at one under compensation and at one with a rotary axis",
          "[spiral]") {
  for (int const kind : {0, 1, 2}) {
    INFO(kind);
    auto steps = Ring{}.program();
    for (std::size_t i = 600; i < 640; ++i) {
      motion::Motion& m = *motion::motion_of(steps[i]);
      if (kind == 0) m.to.z = m.from.z + 0.01;
      if (kind == 1) m.compensated = true;
      if (kind == 2) m.rotary = true;
    }
    for (std::size_t i = 0; i < steps.size(); ++i)
      steps[i].place.line = static_cast<std::uint32_t>(i + 1);
    auto const out = run_restep(steps, {ball2}, cusp_target(2), 1e-4);
    CHECK(out.proof_failure == "");
    for (finish::PassReport const& pass : out.passes)
      CHECK((pass.last_line <= 600 || pass.first_line > 640));
    for (std::size_t i = 600; i < 640; ++i)
      CHECK(std::any_of(out.steps.begin(), out.steps.end(),
                        [&](Step const& s) { return !s.generated && same_event(s.event, steps[i].event); }));
  }
}

TEST_CASE("a spiral whose surface nothing explains is kept, with the reason", "[spiral]") {
  auto steps = Ring{}.program();
  // Every turn bulges on one side.
  for (Step& s : steps) {
    motion::Motion& m = *motion::motion_of(s);
    for (Vec3* p : {&m.from, &m.to})
      if (p->x < -15 && p->z > -2.3) p->x -= 0.05;
  }
  auto const out = run_restep(steps, {ball2}, cusp_target(2), 1e-4);
  REQUIRE(out.passes.size() == 1);
  CHECK(out.passes.front().status == finish::PassStatus::kept);
  CHECK(out.passes.front().shape == "spiral");
  CHECK_FALSE(out.passes.front().reason.empty());
  CHECK(same_stream(out.steps, steps));
}

TEST_CASE("the model finds a turn of a spiral that was moved, by what it cuts or leaves", "[spiral]") {
  Ring const ring;
  auto const out = run_ring(ring, 2);
  auto const first =
      std::find_if(out.steps.begin(), out.steps.end(), [](Step const& s) { return s.generated; });
  std::vector<Step> const pass(first, out.steps.end() - 1);
  // The closing turn as the surface's zero.
  Vec3 const begin = ring.place(0, ring.bottom);
  std::vector<finish::Segment> const loop = {{true, true, {begin.x, 0}, {-begin.x, 0}, {0, 0}, 0},
                                             {true, true, {-begin.x, 0}, {begin.x, 0}, {0, 0}, 0}};
  proof::SpiralSurface const surface{loop, -1, out.passes.front().meridian, ball2};
  auto const right = proof::measure_spiral(pass, surface);
  REQUIRE(right);
  CHECK(1000 * right->cusp.value <= 2.1);
  CHECK(1000 * right->gouge.value <= 0.07);

  auto const moved = [&](auto const& move) {
    std::vector<Step> steps = pass;
    for (std::size_t i = 640; i < 704; ++i) {
      motion::Motion& m = *motion::motion_of(steps[i]);
      if (i > 640) move(m.from);
      if (i < 703) move(m.to);
    }
    return proof::measure_spiral(steps, surface);
  };
  auto const sideways = [&](double d) {
    return moved([d](Vec3& p) {
      double const r = std::hypot(p.x, p.y);
      p.x *= (r + d) / r;
      p.y *= (r + d) / r;
    });
  };
  CHECK(1000 * sideways(-0.005)->gouge.value > 2);
  CHECK(1000 * sideways(0.02)->cusp.value > 4);
  // Lower than the turn that follows: the path would rise again.
  CHECK_FALSE(moved([](Vec3& p) { p.z -= 0.003; }));

  auto shorter = pass;
  shorter.erase(shorter.begin() + 640, shorter.begin() + 660);
  CHECK_FALSE(proof::measure_spiral(shorter, surface));
}
