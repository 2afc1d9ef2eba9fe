// Levels above the first one of a round, up to tangency (--extend).
#include "courses.hpp"
#include "round_part.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <set>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using Catch::Matchers::Contains;
using geometry::Vec2;

namespace {

PassTarget extended_to(double um) {
  PassTarget target = cusp_target(um);
  target.extend = true;
  return target;
}

struct Done {
  std::vector<Step> before;
  Restepped out;
  finish::PassReport const& pass() const { return out.passes.front(); }
};

Done run_extended(RoundPart const& part, PassTarget const& target, double resolution = 1e-4,
                  std::function<void(std::vector<Step>&)> const& before_proof = {}) {
  auto input = text::Input::from_memory(part.program());
  Done done{read_program(input), {}};
  done.out = run_restep(done.before, {part.cutter_tool()}, target, resolution, before_proof);
  REQUIRE(done.out.passes.size() == 1);
  return done;
}

Restepped again(std::vector<Step> const& steps, RoundPart const& part, PassTarget const& target) {
  return run_restep(as_read(steps), {part.cutter_tool()}, target, 1e-4);
}

// The tips as the true part knows them: (slope, height) from the top down. The report's offsets count from
// the level that is cut first.
std::vector<double> slopes(RoundPart const& part, finish::PassReport const& pass) {
  std::vector<double> found;
  for (Vec2 const tip : pass.after.positions)
    if (tip.y >= -part.big()) found.push_back(part.slope_at(tip.y));
  return found;
}

// Cuts at constant height z, in order.
std::vector<motion::Motion> level_cuts(std::vector<Step> const& steps, double z) {
  std::vector<motion::Motion> cuts;
  for (Step const& s : steps)
    if (motion::Motion const* m = motion::motion_of(s); m != nullptr && motion::is_cutting(*m) &&
                                                        std::abs(m->from.z - z) < 1e-9 &&
                                                        std::abs(m->to.z - z) < 1e-9)
      cuts.push_back(*m);
  return cuts;
}

auto const tools = {"flat 6", "ball 4", "bull 3 r0.3", "bull 6 r1"};

} // namespace

TEST_CASE("added levels reach the tangency, whatever the tool and however far below it the program begins",
          "[restep][extend]") {
  for (char const* tool : tools)
    for (double const first : {-0.05, -0.1, -0.25}) {
      INFO(tool << " from " << first);
      RoundPart part;
      part.tool = tool;
      part.first = first;
      part.corner = 6;
      auto const done = run_extended(part, extended_to(2));
      INFO(done.pass().reason << " " << done.pass().not_extended);
      REQUIRE(done.out.proof_failure == "");
      REQUIRE(done.pass().status == finish::PassStatus::restepped);
      CHECK(done.pass().uncovered_mm == Approx(-first).margin(0.0005));
      CHECK(done.pass().extended_mm == Approx(-first).margin(0.00011));
      CHECK(done.pass().after.positions.front().y == Approx(0).margin(0.00011));
      CHECK(done.pass().gouge_um <= 0.3); // half a digit, and what the levels scatter about the round
    }
}

TEST_CASE("the program's first and last level stay to the last digit, and nothing goes below the last",
          "[restep][extend]") {
  for (bool const bottom_up : {false, true}) {
    RoundPart part;
    part.bottom_up = bottom_up;
    auto const done = run_extended(part, extended_to(1));
    REQUIRE(done.pass().extended_levels > 0);
    auto z = part.heights();
    for (double const own : {z.front(), z.back()}) {
      auto const before = level_cuts(done.before, own), after = level_cuts(done.out.steps, own);
      REQUIRE(before.size() == after.size());
      for (std::size_t i = 0; i < before.size(); ++i) {
        constexpr double half_a_digit = 0.00005; // the arc in may come from a link
        CHECK(geometry::distance(before[i].from, after[i].from) < half_a_digit);
        CHECK(geometry::distance(before[i].to, after[i].to) < half_a_digit);
        if (motion::is_arc(before[i]))
          CHECK(geometry::distance(before[i].centre, after[i].centre) < half_a_digit);
      }
    }
    double lowest = 0;
    for (Step const& s : done.out.steps)
      if (motion::Motion const* m = motion::motion_of(s); m != nullptr && motion::is_known(m->to))
        lowest = std::min(lowest, m->to.z);
    CHECK(lowest == Approx(std::min(z.front(), z.back())));
  }
}

// The outlines of two tools meet where the point by point comparison of the test says; reference section 1.4.
TEST_CASE("the cusps of the strip and across the program's first level meet the target", "[restep][extend]") {
  for (char const* tool : tools)
    for (double const um : {1.0, 2.0, 5.0}) {
      INFO(tool << " at " << um << " um");
      RoundPart part;
      part.tool = tool;
      part.corner = 6;
      auto const done = run_extended(part, extended_to(um));
      REQUIRE(done.pass().extended_levels > 0);
      auto const found = slopes(part, done.pass());
      double largest = 0;
      for (std::size_t k = 1; k < found.size(); ++k)
        largest = std::max(largest, 1000 * part.cusp_between(found[k - 1], found[k]));
      // A digit of the height is worth many of the slope at the very top: 0.1 um of height.
      CHECK(largest <= um + 0.11);
      CHECK(largest >= 0.8 * um);
      CHECK(done.pass().written_cusp_um <= 1.05 * um);
    }
}

TEST_CASE("no more levels are added than a walk down from the tangency needs, or one", "[restep][extend]") {
  for (char const* tool : tools)
    for (double const um : {0.5, 1.0, 2.0, 5.0})
      for (double const first : {-0.05, -0.25}) {
        INFO(tool << " at " << um << " um from " << first);
        RoundPart part;
        part.tool = tool;
        part.first = first;
        part.corner = 6;
        // At digits that are small beside the cusp: those of a program are a share of it, and cost levels.
        auto const done = run_extended(part, extended_to(um), 1e-6);
        int const least = part.least_levels(part.slope_at(first), um / 1000);
        int const added = static_cast<int>(done.pass().extended_levels);
        CHECK(added >= least);
        // Levels give way for their contours' digits by up to 3 % of a cusp (place_levels.cpp), which
        // counts where there are hundreds.
        CHECK(added <= least + 1 + 0.012 * least);
      }
}

// z[k+1]^2 = z[k]^2 - h (2R + h), z from the round's centre: reference (20), case 22.
TEST_CASE("under a sharp tool the added levels fall by equal steps of the square of the height",
          "[restep][extend]") {
  RoundPart part;
  part.tool = "flat 6";
  part.corner = 6;
  part.first = -0.25;
  auto const done = run_extended(part, extended_to(5), 1e-6);
  auto const& tips = done.pass().after.positions;
  std::size_t const n = done.pass().extended_levels;
  REQUIRE(n > 20);
  double const square = (std::pow(tips[0].y + 2, 2) - std::pow(tips[n].y + 2, 2)) / static_cast<double>(n);
  double const h = std::sqrt(4 + square) - 2; // of the equal steps
  CHECK(1000 * h <= 5);
  for (std::size_t k = 0; k < n; ++k)
    CHECK(std::pow(tips[k].y + 2, 2) - std::pow(tips[k + 1].y + 2, 2) == Approx(square).epsilon(0.01));
}

TEST_CASE("the contours of added levels are exact offsets of the part's outline", "[restep][extend]") {
  std::size_t const of_arcs = run_extended({}, extended_to(2)).pass().extended_levels;
  for (Writing const writing :
       {Writing::arcs, Writing::r_arcs, Writing::chords, Writing::incremental, Writing::inch})
    for (bool const inside : {false, true}) {
      RoundPart part;
      part.writing = writing;
      part.inside = inside;
      part.against = inside;
      part.digits = writing == Writing::inch ? 5 : 4;
      if (writing == Writing::chords) part.lead = 0; // chords of leads look like those of the contour
      auto const done = run_extended(part, extended_to(2));
      INFO(static_cast<int>(writing) << (inside ? " inside " : " ") << done.pass().not_extended
                                     << done.out.proof_failure);
      REQUIRE(done.out.proof_failure == "");
      REQUIRE(done.pass().extended_levels == of_arcs);
      for (std::size_t k = 0; k < done.pass().extended_levels; ++k) {
        double const z = done.pass().after.positions[k].y;
        std::vector<Step> cuts;
        for (motion::Motion const& m : level_cuts(done.out.steps, z)) {
          // Arcs beside the plate lead in and out; what the tool comes across on is no part of the contour.
          bool const lead = std::max(part.outside(geometry::xy(m.from)), part.outside(geometry::xy(m.to))) >
                            part.out_at(part.slope_at(z)) + 0.05;
          if (!lead) cuts.emplace_back().event = m;
        }
        REQUIRE(cuts.size() >= 9);
        // A digit of the height is 14 um of the offset at the top, where the round is flat: what counts is
        // the distance along the round's normal.
        double const chord = writing == Writing::chords ? 0.0021 : 0;
        double const slope = part.slope_at(z);
        for (Vec3 const p : dense_course(cuts, 0.3)) {
          double const off = part.outside(geometry::xy(p)) - part.out_at(slope);
          CHECK(std::abs(off) * std::sin(std::max(slope, 0.02)) <= 0.0003 + chord);
        }
      }
    }
}

TEST_CASE("nothing but a feed goes where the program has not been on its way to the top level",
          "[restep][extend]") {
  RoundPart const part;
  auto const done = run_extended(part, extended_to(2));
  REQUIRE(done.pass().extended_levels > 0);
  auto const first_feeds = [](std::vector<Step> const& steps) {
    std::vector<motion::Motion> feeds;
    for (Step const& s : steps)
      if (motion::Motion const* m = motion::motion_of(s); m != nullptr && motion::is_cutting(*m))
        feeds.push_back(*m);
    return feeds;
  };
  auto const own = first_feeds(done.before), now = first_feeds(done.out.steps);
  // Down in the program's own column, not as deep, at its own feed.
  CHECK(geometry::xy(now[0].from) == geometry::xy(own[0].from));
  CHECK(geometry::xy(now[0].to) == geometry::xy(own[0].to));
  CHECK(now[0].from.z == own[0].from.z);
  CHECK(now[0].to.z > own[0].to.z);
  CHECK(now[0].feed == own[0].feed);
  // Across at the height of the top level, and in by an arc of the program's radius.
  CHECK(now[1].path == motion::PathKind::line);
  CHECK(now[1].to.z == now[0].to.z);
  CHECK(now[1].feed == own[1].feed);
  REQUIRE(motion::is_arc(now[2]));
  CHECK(geometry::distance(now[2].from, now[2].centre) == Approx(1.5).margin(1e-9));
  // Every sideways rapid is at the program's own clearance, or as high as the program went.
  for (Step const& s : done.out.steps)
    if (motion::Motion const* m = motion::motion_of(s); m != nullptr && !motion::is_cutting(*m) &&
                                                        motion::is_known(m->from) &&
                                                        geometry::xy(m->from) != geometry::xy(m->to))
      CHECK(std::min(m->from.z, m->to.z) >= 2 - 1e-9);
}

TEST_CASE("a pass cut from the bottom up ends on the added levels and leaves in the program's column",
          "[restep][extend]") {
  RoundPart down, up;
  up.bottom_up = true;
  auto const a = run_extended(down, extended_to(2)), b = run_extended(up, extended_to(2));
  REQUIRE(b.out.proof_failure == "");
  CHECK(a.pass().extended_levels == b.pass().extended_levels);
  for (std::size_t k = 0; k < a.pass().after.positions.size(); ++k)
    CHECK(a.pass().after.positions[k].y == Approx(b.pass().after.positions[k].y).margin(0.00011));
  auto const last_rapid_up = [](std::vector<Step> const& steps) {
    motion::Motion last;
    for (std::size_t i = 1; i < steps.size(); ++i) {
      motion::Motion const* before = motion::motion_of(steps[i - 1]);
      motion::Motion const* m = motion::motion_of(steps[i]);
      if (m != nullptr && before != nullptr && !motion::is_cutting(*m) && motion::is_cutting(*before))
        last = *m;
    }
    return last;
  };
  CHECK(geometry::xy(last_rapid_up(b.out.steps).from) == geometry::xy(last_rapid_up(b.before).from));
  CHECK(last_rapid_up(b.out.steps).from.z == Approx(b.pass().after.positions.front().y));
}

TEST_CASE("where the direction alternates the top level is cut the way the program's first is",
          "[restep][extend]") {
  for (double const um : {0.7, 1.0, 2.0, 3.0})
    for (double const lead : {0.0, 1.5}) {
      RoundPart part;
      part.open = true;
      part.lead = lead;
      auto const done = run_extended(part, extended_to(um));
      INFO(um << " um, lead " << lead << ": " << done.pass().reason << " " << done.pass().not_extended);
      REQUIRE(done.out.proof_failure == "");
      REQUIRE(done.pass().extended_levels > 0);
      CHECK(done.pass().extended_levels % 2 == 0);
      // No cut goes the way of the one before it.
      double way = 0;
      for (Step const& s : done.out.steps) {
        motion::Motion const* m = motion::motion_of(s);
        if (m == nullptr || m->path != motion::PathKind::line || std::abs(m->to.x - m->from.x) < 5) continue;
        CHECK((m->to.x - m->from.x) * way <= 0);
        way = m->to.x - m->from.x;
      }
    }
}

TEST_CASE("several islands per level, links by ramps and vertical arcs, and groups are extended too",
          "[restep][extend]") {
  for (char const* fixture : {"two-bosses", "two-bosses-one-by-one", "ramp-links", "vertical-leads",
                              "vertical-leads-y", "grouped", "moving-start", "bell-yoke", "clock-bezel"}) {
    std::vector<cutter::Tool> cutters;
    for (TrueStack const& stack : true_stacks(fixture))
      cutters.push_back(stack.tool);
    auto input = text::Input::open(fixture_path(fixture, "program.nc")).value();
    auto const out = run_restep(read_program(input), cutters, extended_to(2), 1e-4);
    INFO(fixture);
    REQUIRE(out.proof_failure == "");
    std::size_t extended = 0;
    for (finish::PassReport const& pass : out.passes) {
      if (pass.uncovered_mm == 0) continue;
      ++extended;
      INFO(pass.not_extended);
      // The parts' top faces are at Z0, save the bezel's; their passes begin 0.1 mm below the tangency.
      CHECK(pass.extended_mm == Approx(0.1).margin(0.0003));
      CHECK(pass.extended_levels >= 3);
      CHECK(pass.after.cusp_max_um <= 2.0001);
    }
    CHECK(extended > 0);
  }
}

TEST_CASE("extending twice changes nothing more", "[restep][extend][law]") {
  for (double const um : {1.0, 2.0, 5.0})
    for (bool const open : {false, true}) {
      RoundPart part;
      part.open = open;
      auto const once = run_extended(part, extended_to(um));
      REQUIRE(once.pass().extended_levels > 0);
      auto const twice = again(once.out.steps, part, extended_to(um));
      REQUIRE(twice.passes.size() == 1);
      INFO(um << " um: " << twice.passes.front().reason);
      CHECK(twice.passes.front().status == finish::PassStatus::kept);
      CHECK(twice.passes.front().extended_levels == 0);
      CHECK(twice.passes.front().before.levels == once.pass().after.levels);
    }
}

TEST_CASE("a mirrored part, the other direction and another scale give the same added levels",
          "[restep][extend][law]") {
  RoundPart part;
  auto const plain = run_extended(part, extended_to(2));
  std::size_t const n = plain.pass().after.positions.size();
  RoundPart other = part;
  other.against = true; // which is the mirror image of this part
  auto const against = run_extended(other, extended_to(2));
  REQUIRE(against.pass().after.positions.size() == n);
  RoundPart large = part;
  large.scale = 2;
  PassTarget twice = extended_to(4);
  auto const scaled = run_extended(large, twice);
  REQUIRE(scaled.pass().after.positions.size() == n);
  CHECK(scaled.pass().extended_levels == plain.pass().extended_levels);
  for (std::size_t k = 0; k < n; ++k) {
    CHECK(against.pass().after.positions[k].y == Approx(plain.pass().after.positions[k].y).margin(0.00015));
    CHECK(scaled.pass().after.positions[k].y == Approx(2 * plain.pass().after.positions[k].y).margin(0.0005));
  }
}

TEST_CASE("a pass without --extend, or with nothing above it, gets no level above its first",
          "[restep][extend]") {
  RoundPart part;
  CHECK(run_extended(part, cusp_target(2)).pass().extended_levels == 0);
  part.first = 0; // the program begins at the tangency itself
  auto const covered = run_extended(part, extended_to(2));
  CHECK(covered.pass().extended_levels == 0);
  CHECK(covered.pass().not_extended == "");
}

TEST_CASE("the proof finds an added level that stands 5 um too low", "[restep][extend]") {
  RoundPart part;
  auto const good = run_extended(part, extended_to(2));
  REQUIRE(good.pass().extended_levels >= 4);
  for (std::size_t k = 0; k < good.pass().extended_levels; ++k) {
    double const z = good.pass().after.positions[k].y;
    auto const lower = [&](std::vector<Step>& steps) {
      for (Step& s : steps)
        if (motion::Motion* m = motion::motion_of(s))
          for (Vec3* p : {&m->from, &m->to})
            if (std::abs(p->z - z) < 1e-9) p->z -= 0.005;
    };
    INFO("level " << k << " at " << z);
    CHECK(run_extended(part, extended_to(2), 1e-4, lower).out.proof_failure != "");
  }
}

TEST_CASE("the proof finds a link to an added level that cuts into the round", "[restep][extend]") {
  RoundPart part;
  auto const good = run_extended(part, extended_to(2));
  double const z = good.pass().after.positions[3].y;
  auto const inwards = [&](std::vector<Step>& steps) {
    for (std::size_t i = 0; i + 1 < steps.size(); ++i) {
      motion::Motion* down = motion::motion_of(steps[i]);
      motion::Motion* lead = motion::motion_of(steps[i + 1]);
      if (down == nullptr || lead == nullptr || std::abs(down->to.z - z) > 1e-9 || down->from.z < 1) continue;
      // Straight in from the other side of the contour.
      double const depth = 0.5;
      down->from.y = down->to.y = lead->from.y = lead->to.y - depth;
      lead->path = motion::PathKind::line;
      return;
    }
  };
  CHECK_THAT(run_extended(part, extended_to(2), 1e-4, inwards).out.proof_failure, Contains("link"));
}

TEST_CASE("a pass that cannot be extended safely is re-stepped as it is, with the reason",
          "[restep][extend]") {
  auto const refused = [](RoundPart const& part, char const* why, double um = 2) {
    auto const done = run_extended(part, extended_to(um));
    INFO(done.pass().reason << " | " << done.pass().not_extended);
    CHECK(done.out.proof_failure == "");
    CHECK(done.pass().status == finish::PassStatus::restepped);
    CHECK(done.pass().extended_levels == 0);
    CHECK_THAT(done.pass().not_extended, Contains(why));
    CHECK(level_cuts(done.out.steps, part.first).size() == level_cuts(done.before, part.first).size());
  };
  RoundPart part;
  part.tool = "ball 4";
  part.corner = 1.4; // the tip's corner arcs have R0.3 on the first level and none further up
  refused(part, "would vanish");

  part = {};
  part.inside = true; // an opening whose arcs grow and whose chords, as many on each level, grow with them
  part.writing = Writing::chords;
  part.chords = 24;
  refused(part, "chords");

  part = {};
  part.levels = 8; // of a round of which they show a few degrees
  part.first = -0.9;
  part.step = 0.04;
  part.digits = 3;
  refused(part, "known within", 0.1);

  part = {};
  part.way_in = fmt::format("G0 X-1.5 Y{:.4f}\nG0 Z1\nG0 X-1.2 Z0.5\nG0 X-1.5 Z-0.1",
                            part.half_y + part.out_at(part.slope_at(-0.1)) + 1.5);
  refused(part, "rapid");

  part = {};
  part.way_in = fmt::format("G0 X-1.5 Y{0:.4f}\nG0 Z20\nG0 X-30 Z-0.05\nG0 X-1.5\nG1 Z-0.1 F150",
                            part.half_y + part.out_at(part.slope_at(-0.1)) + 1.5);
  refused(part, "from Z-0.05");
}

TEST_CASE("a way in by a ramp is moved with the contour", "[restep][extend]") {
  RoundPart part;
  part.way_in = fmt::format("G0 X-9 Y{0:.4f}\nG0 Z1\nG1 X-1.5 Z-0.1 F150",
                            part.half_y + part.out_at(part.slope_at(-0.1)) + 1.5);
  auto const done = run_extended(part, extended_to(2));
  INFO(done.pass().not_extended);
  REQUIRE(done.out.proof_failure == "");
  REQUIRE(done.pass().extended_levels > 0);
  auto const ramp_of = [](std::vector<Step> const& steps) {
    for (Step const& s : steps)
      if (motion::Motion const* m = motion::motion_of(s); m != nullptr && m->path == motion::PathKind::line &&
                                                          m->to.z < m->from.z - 0.5 && m->to.x > m->from.x)
        return *m;
    return motion::Motion{};
  };
  Vec3 const own = ramp_of(done.before).to - ramp_of(done.before).from;
  Vec3 const now = ramp_of(done.out.steps).to - ramp_of(done.out.steps).from;
  CHECK(geometry::distance(own, now) < 1e-9);
}
