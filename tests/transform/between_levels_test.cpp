// Ways from one level to the next at which the tool stays down, and loops whose direction alternates.
#include "random_part.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <map>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using finish::PassStatus;
using geometry::Vec2;
using motion::PathKind;

namespace {

struct Manner {
  bool alternating = false; ///< every other level is cut the other way round
  bool still_moves = true;  ///< a move sideways from level to level is there where it goes nowhere, too
  bool chords = false;      ///< instead of arcs, of another number from level to level
  double into = 0;          ///< mm that the way to the next level goes through the part
};

// Every level from the same corner of the outline: sideways to it, down, and round.
std::vector<Step> stay_down(RandomPart const& part, Manner const& manner) {
  Program p;
  p.rapid(0, 0, 15);
  for (std::size_t k = 0; k < part.depths.size(); ++k) {
    double const d = part.offset(part.depths[k]).value();
    auto contour = part.outline.moved(part.pocket ? -d : d).value();
    if (manner.alternating && k % 2 == 1) finish::turn_round(contour);
    auto const to = [&](Vec2 at) { p.feed(part.rounded(at.x), part.rounded(at.y), nowhere, 400); };
    Vec2 const start{part.rounded(contour.front().from.x), part.rounded(contour.front().from.y)};
    if (manner.into > 0 && k > 0) to((1 - manner.into / length(start)) * start);
    if (k == 0)
      p.rapid(start.x, start.y, 2);
    else if (manner.still_moves || distance(start, {p.at.x, p.at.y}) > 0)
      to(start);
    p.feed(nowhere, nowhere, -part.depths[k], 150);
    for (finish::Segment const& s : contour) {
      int const n = manner.chords && s.arc ? 24 + 2 * static_cast<int>(k % 3) : 1;
      for (int i = 1; i < n; ++i)
        to(s.point_at(static_cast<double>(i) / n));
      if (s.arc && !manner.chords)
        p.arc(s.ccw ? PathKind::arc_ccw : PathKind::arc_cw, motion::Plane::xy,
              {part.rounded(s.to.x), part.rounded(s.to.y), -part.depths[k]},
              geometry::at_height(s.centre, -part.depths[k]), 400);
      else
        to(s.to);
    }
  }
  p.rapid_z(15);
  return p.steps;
}

RandomPart rolled_boss(RandomSurface surface, char const* tool) {
  RandomPart part;
  part.tool = cutter::parse_tool(tool).value();
  part.tool.number = 1;
  part.surface = surface;
  part.outline.kind = RandomOutline::Kind::rolled;
  part.outline.corners = {{-14, -11}, {16, -7}, {13, 12}, {-17, 9}}; // no side along an axis
  for (int k = 1; k <= 30; ++k)
    part.depths.push_back(surface.depth * k / 30);
  return part;
}

// Twice the area that each level's course goes round, by height: more than 0 counter-clockwise.
std::map<double, double> areas(std::vector<Step> const& steps) {
  std::map<double, double> areas;
  for (Step const& step : steps)
    if (auto const* m = motion::motion_of(step); m != nullptr && finish::is_level_cut(*m))
      areas[-m->to.z] += cross(geometry::xy(m->from), geometry::xy(m->to));
  return areas;
}

// Three of the part side by side, level by level, with retracts between them; the islands in the same order
// on every level, or from the one where the level before ended.
constexpr double apart = 50;
std::vector<Step> islands(RandomPart const& part, bool there_and_back, bool chords) {
  Program p;
  p.rapid(0, 0, 15);
  for (std::size_t k = 0; k < part.depths.size(); ++k) {
    auto const contour = part.outline.moved(part.offset(part.depths[k]).value()).value();
    for (int i = 0; i < 3; ++i) {
      double const x = apart * (there_and_back && k % 2 == 1 ? 2 - i : i);
      auto const shifted = [&](Vec2 at) { return Vec2{part.rounded(at.x + x), part.rounded(at.y)}; };
      Vec2 const start = shifted(contour.front().from);
      p.rapid(start.x, start.y, 2).feed(nowhere, nowhere, -part.depths[k], 150);
      for (finish::Segment const& s : contour) {
        Vec2 const to = shifted(s.to);
        int const n = chords && s.arc ? 20 : 1;
        for (int j = 1; j < n; ++j) {
          Vec2 const at = shifted(s.point_at(static_cast<double>(j) / n));
          p.feed(at.x, at.y, nowhere, 400);
        }
        if (s.arc && !chords)
          p.arc(PathKind::arc_ccw, motion::Plane::xy, {to.x, to.y, -part.depths[k]},
                {s.centre.x + x, s.centre.y, -part.depths[k]}, 400);
        else
          p.feed(to.x, to.y, nowhere, 400);
      }
      p.rapid_z(2);
    }
  }
  p.rapid_z(15);
  return p.steps;
}

void check_twice_is_once(RandomPart const& part, Restepped const& once) {
  std::vector<Step> const again = as_read(once.steps);
  auto const twice = run_restep(again, {part.tool}, cusp_target(1), 1e-4);
  CHECK(twice.passes.front().status == PassStatus::kept);
  CHECK(same_stream(twice.steps, again));
}

// Which island each contour belongs to, as they are cut.
std::vector<int> order_of_islands(std::vector<Step> const& steps) {
  std::vector<int> order;
  double z = 0;
  for (Step const& step : steps)
    if (auto const* m = motion::motion_of(step); m != nullptr && finish::is_level_cut(*m)) {
      int const island = static_cast<int>(std::lround(m->to.x / apart));
      if (order.empty() || order.back() != island || m->to.z != z) order.push_back(island);
      z = m->to.z;
    }
  return order;
}

} // namespace

TEST_CASE("a move from level to level that is left out where it would go nowhere is one all the same",
          "[restep]") {
  // A wall of 2 mm, where the contour stays, above a fillet of 2 mm, where it moves.
  RandomPart const part = rolled_boss({RandomSurface::Kind::fillet, 2, 0, 4}, "ball 2");
  auto const told = run_restep(stay_down(part, {}), {part.tool}, cusp_target(2), 1e-4);
  Manner brief;
  brief.still_moves = false;
  auto const left_out = run_restep(stay_down(part, brief), {part.tool}, cusp_target(2), 1e-4);
  CHECK(left_out.proof_failure == "");
  REQUIRE(left_out.passes.size() == 1);
  INFO(left_out.passes.front().reason);
  REQUIRE(left_out.passes.front().status == PassStatus::restepped);
  REQUIRE(told.passes.front().status == PassStatus::restepped);
  auto const& a = told.passes.front().after.positions;
  auto const& b = left_out.passes.front().after.positions;
  REQUIRE(a.size() == b.size());
  for (std::size_t k = 0; k < a.size(); ++k)
    CHECK(distance(a[k], b[k]) < 1e-9);
}

TEST_CASE("loops whose direction alternates are re-stepped, and go on alternating", "[restep]") {
  for (bool const chords : {false, true})
    for (auto const kind : {RandomSurface::Kind::draft, RandomSurface::Kind::fillet}) {
      RandomPart const part = rolled_boss({kind, 2, 5, 3}, "ball 2");
      Manner manner;
      manner.chords = chords;
      auto const one_way = run_restep(stay_down(part, manner), {part.tool}, cusp_target(1), 1e-4);
      manner.alternating = true;
      auto const out = run_restep(stay_down(part, manner), {part.tool}, cusp_target(1), 1e-4);
      CHECK(out.proof_failure == "");
      REQUIRE(out.passes.size() == 1);
      finish::PassReport const& pass = out.passes.front();
      INFO((chords ? "chords " : "arcs ")
           << (kind == RandomSurface::Kind::draft ? "draft " : "fillet ") << pass.reason);
      REQUIRE(pass.status == PassStatus::restepped);
      CHECK(pass.after.cusp_max_um <= 1.002);
      // The last level keeps its direction, which may ask for one level more.
      std::size_t const least = one_way.passes.front().after.levels;
      CHECK(pass.after.levels >= least);
      CHECK(pass.after.levels <= least + 1);

      double before = 0;
      for (auto const& [depth, area] : areas(out.steps)) {
        INFO("depth " << depth);
        CHECK(area * before <= 0);
        before = area;
      }

      check_twice_is_once(part, out);
    }
}

TEST_CASE("islands that are cut there and back are re-stepped there and back", "[restep]") {
  for (bool const chords : {false, true}) {
    INFO((chords ? "chords" : "arcs"));
    RandomPart const part = rolled_boss({RandomSurface::Kind::draft, 2, 5, 3}, "ball 2");
    auto const one_way = run_restep(islands(part, false, chords), {part.tool}, cusp_target(1), 1e-4);
    auto const out = run_restep(islands(part, true, chords), {part.tool}, cusp_target(1), 1e-4);
    CHECK(out.proof_failure == "");
    REQUIRE(out.passes.size() == 1);
    finish::PassReport const& pass = out.passes.front();
    INFO(pass.reason);
    REQUIRE(pass.status == PassStatus::restepped);
    CHECK(pass.before.levels == part.depths.size());
    CHECK(pass.after.cusp_max_um <= 1.002);
    // The last level stays, and begins where the one above ends.
    std::size_t const least = one_way.passes.front().after.levels;
    CHECK(pass.after.levels >= least);
    CHECK(pass.after.levels <= least + 1);

    auto const order = order_of_islands(out.steps);
    REQUIRE(order.size() == 3 * pass.after.levels);
    for (std::size_t i = 0; i < order.size(); i += 6) {
      INFO("contour " << i);
      CHECK(std::vector(order.begin() + static_cast<std::ptrdiff_t>(i),
                        order.begin() + static_cast<std::ptrdiff_t>(i + 6)) == std::vector{0, 1, 2, 2, 1, 0});
    }

    check_twice_is_once(part, out);
  }
}

TEST_CASE("a pass whose own moves from level to level cut into the part is left as it was, and that is told",
          "[restep]") {
  RandomPart const part = rolled_boss({RandomSurface::Kind::draft, 2, 5, 3}, "ball 2");
  auto const deeper = [](std::vector<Step>& steps) { // one plunge 0.2 mm inside the part
    for (Step& step : steps) {
      auto* m = motion::motion_of(step);
      if (!step.generated || finish::is_level_cut(*m) || m->from.z <= m->to.z) continue;
      Vec2 const inside = (1 - 0.2 / length(geometry::xy(m->from))) * geometry::xy(m->from);
      m->from = geometry::at_height(inside, m->from.z);
      m->to = geometry::at_height(inside, m->to.z);
      return;
    }
  };
  for (double const into : {0.0, 0.1}) {
    INFO("into " << into);
    Manner manner;
    manner.into = into;
    auto const program = stay_down(part, manner);
    auto const fine = run_restep(program, {part.tool}, cusp_target(1), 1e-4);
    CHECK(fine.proof_failure == "");
    CHECK(fine.passes.front().status == PassStatus::restepped);
    auto const out = run_restep(program, {part.tool}, cusp_target(1), 1e-4, deeper);
    finish::PassReport const& pass = out.passes.front();
    INFO(pass.reason);
    if (into == 0) {
      CHECK_THAT(out.proof_failure, Catch::Contains("below the surface"));
    } else {
      CHECK(out.proof_failure == "");
      CHECK(pass.status == PassStatus::kept);
      CHECK_THAT(pass.reason, Catch::Contains("its own moves from level to level cut"));
      CHECK(same_stream(out.steps, program));
    }
  }
}

TEST_CASE("levels with other words than motion between them are left as they were, and that is told once",
          "[restep]") {
  RandomPart const part = rolled_boss({RandomSurface::Kind::round, 2, 0, 2}, "bull 6 r1");
  for (bool const often : {true, false}) {
    INFO("often " << often);
    // A dwell in front of every plunge, or of one.
    std::vector<Step> program;
    std::size_t plunges = 0;
    for (Step const& step : stay_down(part, {})) {
      auto const* m = motion::motion_of(step);
      bool const plunges_here = m != nullptr && motion::is_cutting(*m) && m->to.z < m->from.z;
      if (plunges_here && (often || plunges == 20)) {
        Step dwell = step;
        dwell.event = motion::Dwell{0.5};
        program.push_back(dwell);
      }
      plunges += plunges_here ? 1 : 0;
      program.push_back(step);
    }
    auto const out = run_restep(program, {part.tool}, cusp_target(2), 1e-4);
    auto const& all = out.findings.all();
    auto const told = std::count_if(all.begin(), all.end(), [](text::Finding const& finding) {
      return finding.code == "levels-not-read" &&
             finding.message.find("cuts at 30 heights") != std::string::npos &&
             finding.message.find("a dwell") != std::string::npos;
    });
    CHECK(told == (often ? 1 : 0));
    CHECK(out.passes.size() == (often ? 0 : 2)); // on either side of the one dwell
    if (often) CHECK(same_stream(out.steps, program));
  }
}
