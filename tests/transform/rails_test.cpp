// Stacks whose contours are no offsets of each other, against the part's own geometry.

#include "finish/contour.hpp"
#include "fixture.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <map>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using finish::PassStatus;
using geometry::Vec2;

namespace {

struct Part {
  std::string fixture;
  double target_um;
};

// A target that each of them must be re-stepped for.
std::vector<Part> const parts{{"variable-round", 1},
                              {"variable-round-inch", 1.2},
                              {"organic-wall", 1},
                              {"rounding-taper", 5},
                              {"organic-wall-uneven", 1}};

nlohmann::json truth_of(std::string const& fixture) {
  std::ifstream file(fixture_path(fixture, "truth.json"));
  return nlohmann::json::parse(file)["stacks"][0];
}

struct Run {
  Restepped result;
  double resolution;
};

Run run_part(Part const& part, std::vector<Step> const& steps,
             std::function<void(std::vector<Step>&)> const& before_proof = {}) {
  auto const truth = truth_of(part.fixture);
  cutter::Tool tool = cutter::parse_tool(truth["tool"]["text"].get<std::string>()).value();
  tool.number = truth["tool"]["number"];
  std::ifstream file(fixture_path(part.fixture, "truth.json"));
  double const resolution = nlohmann::json::parse(file)["resolution_mm"];
  return {run_restep(steps, {tool}, cusp_target(part.target_um), resolution, before_proof), resolution};
}

Run run_part(Part const& part, std::function<void(std::vector<Step>&)> const& before_proof = {}) {
  auto input = text::Input::open(fixture_path(part.fixture, "program.nc")).value();
  return run_part(part, read_program(input), before_proof);
}

/// The cuts at constant height, by height from the top.
std::map<double, std::vector<motion::Motion>, std::greater<>> levels_of(std::vector<Step> const& steps) {
  std::map<double, std::vector<motion::Motion>, std::greater<>> levels;
  for (Step const& step : steps)
    if (auto const* m = motion::motion_of(step); m != nullptr && finish::is_level_cut(*m))
      levels[std::round(m->to.z * 1e6) / 1e6].push_back(*m);
  return levels;
}

/// Where the cuts of a level lead, one after the other, and by what; without the leads at its ends.
bool same_cuts(std::vector<motion::Motion> const& a, std::vector<motion::Motion> const& b) {
  if (a.size() != b.size() || a.size() < 8) return false;
  return std::equal(a.begin() + 2, a.end() - 2, b.begin() + 2,
                    [](motion::Motion const& m, motion::Motion const& n) {
                      return m.path == n.path && m.to == n.to && (!motion::is_arc(m) || m.centre == n.centre);
                    });
}

double distance_to(motion::Motion const& m, Vec2 p) {
  Vec2 const a = geometry::xy(m.from), b = geometry::xy(m.to);
  double const t = std::clamp(dot(p - a, b - a) / dot(b - a, b - a), 0.0, 1.0);
  return geometry::length(p - (a + t * (b - a)));
}

/// A true course's place at a height, through the four of its points around it (Lagrange's form).
Vec2 place_at(nlohmann::json const& course, double z) {
  std::size_t at = 0;
  while (at + 2 < course.size() && course[at + 1][2].get<double>() > z)
    ++at;
  std::size_t const first = std::min(at == 0 ? 0 : at - 1, course.size() - 4);
  Vec2 place{};
  for (std::size_t i = first; i < first + 4; ++i) {
    double weight = 1;
    for (std::size_t j = first; j < first + 4; ++j)
      if (j != i)
        weight *=
            (z - course[j][2].get<double>()) / (course[i][2].get<double>() - course[j][2].get<double>());
    place = place + weight * Vec2{course[i][0], course[i][1]};
  }
  return place;
}

} // namespace

TEST_CASE("a stack on rails meets its target at its worst place, and is proven", "[rails]") {
  for (Part const& part : parts) {
    Run const run = run_part(part);
    INFO(part.fixture << ": " << run.result.proof_failure);
    REQUIRE(run.result.passes.size() == 1);
    auto const& pass = run.result.passes.front();
    INFO(pass.reason);
    CHECK(run.result.proof_failure.empty());
    REQUIRE(pass.status == PassStatus::restepped);
    CHECK(pass.after.cusp_max_um <= 1.03 * part.target_um);
    CHECK(pass.after.cusp_max_um >= 0.8 * part.target_um);
    CHECK(pass.before.cusp_max_um > part.target_um);
    // The bound of the surface is stated, and worth something.
    CHECK(pass.surface_bound_um > 0);
    CHECK(pass.surface_bound_um <= 2);
    CHECK(pass.gouge_um <= 1000 * std::sqrt(0.5) * run.resolution + pass.surface_bound_um);
  }
}

TEST_CASE("the first and the last level of a stack on rails stay as they are", "[rails]") {
  for (Part const& part : parts) {
    auto input = text::Input::open(fixture_path(part.fixture, "program.nc")).value();
    auto const before = levels_of(read_program(input));
    auto const after = levels_of(run_part(part).result.steps);
    INFO(part.fixture);
    CHECK(after.begin()->first == before.begin()->first);
    CHECK(same_cuts(after.begin()->second, before.begin()->second));
    CHECK(after.rbegin()->first == before.rbegin()->first);
    CHECK(same_cuts(after.rbegin()->second, before.rbegin()->second));
  }
}

// truth.json holds courses that the generator computed from the part's surface, without the levels.
TEST_CASE("new levels lie on the true surface within the bound that is stated", "[rails]") {
  for (Part const& part : {parts[0], parts[2], parts[4]}) {
    Run const run = run_part(part);
    double const allowed = run.result.passes.front().surface_bound_um / 1000 +
                           std::sqrt(2.0) * run.resolution + 0.0015; // chords
    auto const levels = levels_of(run.result.steps);
    double worst = 0;
    int measured = 0;
    auto const truth = truth_of(part.fixture);
    for (auto const& course : truth["rails_x_y_z_mm"]) {
      for (auto const& [z, cuts] : levels) {
        // Near the top of a round four points of the course do not tell its shape.
        if (z > course[2][2].get<double>() || z < course.back()[2].get<double>()) continue;
        Vec2 const place = place_at(course, z);
        double nearest = std::numeric_limits<double>::infinity();
        for (motion::Motion const& m : cuts)
          nearest = std::min(nearest, distance_to(m, place));
        worst = std::max(worst, nearest);
        ++measured;
      }
    }
    INFO(part.fixture << " worst " << worst);
    CHECK(measured > 150);
    CHECK(worst <= allowed);
  }
}

TEST_CASE("a stack on rails that is re-stepped again stays as it is", "[rails]") {
  for (Part const& part : {parts[0], parts[3], parts[4]}) {
    Run const once = run_part(part);
    Run const twice = run_part(part, once.result.steps);
    INFO(part.fixture << ": " << twice.result.passes.front().reason);
    CHECK(twice.result.proof_failure.empty());
    CHECK(twice.result.passes.front().status == PassStatus::kept);
  }
}

TEST_CASE("a stack on rails gets as many levels in chords, however many they are on each level", "[rails]") {
  Part const& part = parts[3];
  auto input = text::Input::open(fixture_path(part.fixture, "program.nc")).value();
  std::vector<Step> chords;
  int level = 0;
  for (Step const& step : read_program(input)) {
    auto const* m = motion::motion_of(step);
    if (m != nullptr && !finish::is_level_cut(*m)) ++level;
    bool const lead = m != nullptr && motion::is_arc(*m) && motion::radius(*m) < 1.5;
    if (m == nullptr || !motion::is_arc(*m) || lead) {
      chords.push_back(step);
      continue;
    }
    int const n = 20 + level % 3;
    Vec3 at = m->from;
    for (int i = 1; i <= n; ++i) {
      Step piece = step;
      motion::Motion& line = *motion::motion_of(piece);
      line.path = motion::PathKind::line;
      line.from = at;
      line.to = motion::point_at(*m, static_cast<double>(i) / n);
      line.centre = {};
      at = line.to;
      chords.push_back(piece);
    }
  }
  Run const arcs = run_part(part);
  Run const run = run_part(part, chords);
  REQUIRE(run.result.passes.size() == 1);
  finish::PassReport const& pass = run.result.passes.front();
  INFO(pass.reason << run.result.proof_failure);
  CHECK(run.result.proof_failure.empty());
  REQUIRE(pass.status == PassStatus::restepped);
  auto const expected = static_cast<double>(arcs.result.passes.front().after.levels);
  CHECK(static_cast<double>(pass.after.levels) == Approx(expected).margin(0.02 * expected));
}

TEST_CASE("a mirrored part on rails gets the same heights", "[rails]") {
  for (Part const& part : {parts[0], parts[3]}) {
    auto input = text::Input::open(fixture_path(part.fixture, "program.nc")).value();
    std::vector<Step> steps = read_program(input);
    auto const plain = levels_of(run_part(part, steps).result.steps);
    for (Step& step : steps) {
      auto* m = motion::motion_of(step);
      if (m == nullptr) continue;
      for (motion::Vec3* p : {&m->from, &m->to, &m->centre})
        p->x = -p->x;
      if (motion::is_arc(*m))
        m->path = m->path == motion::PathKind::arc_cw ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw;
    }
    auto const mirrored = levels_of(run_part(part, steps).result.steps);
    INFO(part.fixture);
    REQUIRE(mirrored.size() == plain.size());
    CHECK(std::equal(plain.begin(), plain.end(), mirrored.begin(),
                     [](auto const& a, auto const& b) { return std::abs(a.first - b.first) < 2e-4; }));
  }
}

TEST_CASE("a coarser target needs no more levels", "[rails]") {
  std::size_t before = std::numeric_limits<std::size_t>::max();
  for (double const target : {3.0, 5.0, 10.0}) {
    Run const run = run_part({"rounding-taper", target});
    REQUIRE(run.result.passes.front().status == PassStatus::restepped);
    CHECK(run.result.passes.front().after.levels <= before);
    before = run.result.passes.front().after.levels;
  }
}

namespace {

/// The height of the first new level from the one with this number on, from the top.
double new_height(std::vector<Step> const& steps, std::size_t number) {
  auto const levels = levels_of(steps);
  auto at = levels.begin();
  std::advance(at, static_cast<std::ptrdiff_t>(number));
  for (; at != levels.end(); ++at)
    for (Step const& step : steps)
      if (auto const* m = motion::motion_of(step);
          m != nullptr && step.generated && finish::is_level_cut(*m) && std::abs(m->to.z - at->first) < 1e-6)
        return at->first;
  FAIL("no new level");
  return 0;
}

} // namespace

TEST_CASE("the proof on rails finds a level that is moved by 5 um and one that is missing", "[rails]") {
  for (Part const& part : {parts[0], parts[3]}) {
    INFO(part.fixture);
    auto const moved = run_part(part, [](std::vector<Step>& steps) {
      double const z = new_height(steps, 10);
      for (Step& step : steps)
        if (auto* m = motion::motion_of(step))
          for (motion::Vec3* p : {&m->from, &m->to, &m->centre})
            if (std::abs(p->z - z) < 1e-6) p->x += 0.005;
    });
    INFO(moved.result.proof_failure);
    CHECK(moved.result.proof_failure.find("below the surface") != std::string::npos);
    auto const missing = run_part(part, [](std::vector<Step>& steps) {
      double const z = new_height(steps, 1); // where the cusps are highest
      std::erase_if(steps, [&](Step const& step) {
        auto const* m = motion::motion_of(step);
        return m != nullptr && finish::is_level_cut(*m) && std::abs(m->to.z - z) < 1e-6;
      });
    });
    INFO("missing: " << missing.result.proof_failure);
    CHECK_FALSE(missing.result.proof_failure.empty());
  }
}

TEST_CASE("the proof on rails finds a link that runs 20 um inside the wall", "[rails]") {
  for (Part const& part : {parts[0], parts[2], parts[3]}) {
    INFO(part.fixture);
    auto const moved = run_part(part, [](std::vector<Step>& steps) {
      double const z = new_height(steps, 10);
      for (std::size_t i = 1; i < steps.size(); ++i) {
        motion::Motion* lead = motion::motion_of(steps[i]);
        if (lead == nullptr || !finish::is_level_cut(*lead) || std::abs(lead->from.z - z) > 1e-6) continue;
        // The lead-in, an arc that comes from the air, comes out of the material.
        REQUIRE(motion::is_arc(*lead));
        Vec2 const end = geometry::xy(lead->to);
        Vec2 const arm = geometry::xy(lead->centre) - end; // to the centre: away from the part
        lead->path = motion::PathKind::line;
        lead->from = geometry::at_height(end - 0.02 * normalized(arm), z);
        return;
      }
    });
    INFO(moved.result.proof_failure);
    CHECK(moved.result.proof_failure.find("a link between two levels cuts") != std::string::npos);
  }
}

TEST_CASE("a stack on rails that is finer than asked loses levels", "[rails]") {
  Run const run = run_part({"organic-wall", 20});
  CHECK(run.result.proof_failure.empty());
  CHECK(run.result.passes.front().after.levels <= run.result.passes.front().before.levels);
}
