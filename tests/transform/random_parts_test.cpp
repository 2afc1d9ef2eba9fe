// Parts at random: whatever is re-stepped stands its proof and lies on the part's true surface.

#include "finish/contour.hpp"
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

namespace {

/// The part's true distance of a place on a contour from the outline, away from the material: the least over
/// the elements, which is exact beside a straight or round element and not asked for elsewhere.
double distance_from_outline(RandomPart const& part, Vec2 p) {
  // A polygon moved by d keeps every side at d, a lens both circles: the outline's own elements are asked.
  double best = 1e9;
  auto const own = part.outline;
  if (own.kind == RandomOutline::Kind::lens) {
    double const half = own.apart / 2;
    double const right = own.radius - length(p - Vec2{-half, 0}),
                 left = own.radius - length(p - Vec2{half, 0});
    return (part.pocket ? 1 : -1) * std::min(right, left);
  }
  std::size_t const n = own.corners.size();
  for (std::size_t i = 0; i < n; ++i) {
    Vec2 const along = normalized(own.corners[(i + 1) % n] - own.corners[i]);
    best = std::min(best, dot(left_normal(along), p - own.corners[i]));
  }
  if (part.pocket) return best; // inside a convex polygon
  if (own.kind == RandomOutline::Kind::sharp) return -best;
  // Rolled corners: the distance from the polygon itself.
  double least = 1e9;
  for (std::size_t i = 0; i < n; ++i) {
    Vec2 const a = own.corners[i], b = own.corners[(i + 1) % n];
    double const t = std::clamp(dot(p - a, b - a) / dot(b - a, b - a), 0.0, 1.0);
    least = std::min(least, distance(p, a + t * (b - a)));
  }
  return least;
}

/// Level cuts that are no leads, by height.
std::map<double, std::vector<motion::Motion>> level_cuts(std::vector<Step> const& steps) {
  std::map<double, std::vector<motion::Motion>> levels;
  for (Step const& step : steps)
    if (auto const* m = motion::motion_of(step); m != nullptr && finish::is_level_cut(*m))
      if (!(motion::is_arc(*m) && std::abs(motion::radius(*m) - 0.5) < 0.01)) levels[m->to.z].push_back(*m);
  return levels;
}

/// A line or arc explains a program's levels when it comes within this of them, or within a digit.
constexpr double explained_within_um = 0.6;

/// The deepest cut of a level below the part's true surface, along its normal, um.
double most_cut(RandomPart const& part, std::vector<Step> const& steps) {
  double most = 0;
  if (part.stays_down) return most; // its links run along the levels
  for (auto const& [z, cuts] : level_cuts(steps)) {
    double const d = part.offset(-z).value();
    double const steep = std::abs(part.offset(-z + 1e-4).value_or(d) - d) / 1e-4;
    for (motion::Motion const& m : cuts) {
      // A chord stands off its arc in the middle.
      Vec2 const at = geometry::xy(motion::point_at(m, part.chords ? 1 : 0.5));
      most = std::max(most, 1000 * (d - distance_from_outline(part, at)) / std::hypot(1.0, steep));
    }
  }
  return most;
}

} // namespace

TEST_CASE("what is re-stepped of a random part meets its target on the part's true surface", "[parts]") {
  int restepped = 0;
  int kept = 0;
  for (unsigned seed = 0; seed < 250; ++seed) {
    RandomPart const part = random_part(seed);
    auto const program = part.program();
    if (!program) continue;
    double const target = seed % 2 == 0 ? 2 : 5;
    Restepped const ran = run_restep(*program, {part.tool}, cusp_target(target), 1e-4);
    INFO("part " << seed << ": " << part.text() << '\n'
                 << ran.proof_failure << (ran.passes.empty() ? "" : ran.passes.front().reason));
    CHECK(ran.proof_failure == "");
    REQUIRE(ran.passes.size() == 1);
    finish::PassReport const& pass = ran.passes.front();
    if (pass.status != PassStatus::restepped) {
      ++kept;
      continue;
    }
    ++restepped;
    CHECK(pass.after.cusp_max_um <= 1.02 * target);
    // Half a digit of the program in d and in z, on two of its levels, and half a digit of what is written.
    double const digits = 1000 * std::sqrt(0.5) * (2 * part.digits + 1e-4);
    // Where a curve ends its chords tell it to within their own distance from it.
    CHECK(pass.gouge_um <= 1.5 * digits + (part.chords ? 5 : 0));
    CHECK(most_cut(part, ran.steps) <= 1.5 * digits + explained_within_um);
  }
  CHECK(restepped > 140);
  CHECK(kept < 80);
}

TEST_CASE("levels too fine for the digits that are written give way to the finest that these bear",
          "[parts]") {
  // Near the floor of a fillet a flat tool's levels for 0.5 um lie closer than a digit of height.
  RandomPart part;
  part.tool = cutter::parse_tool("flat 3").value();
  part.tool.number = 1;
  part.surface = {RandomSurface::Kind::fillet, 2, 0, 3};
  part.outline.corners = {{-14, -11}, {16, -7}, {13, 12}, {-17, 9}}; // no side along an axis
  for (int k = 1; k <= 20; ++k)
    part.depths.push_back(0.15 * k);
  Restepped const ran = run_restep(part.program().value(), {part.tool}, cusp_target(0.5), 1e-3);
  CHECK(ran.proof_failure == "");
  REQUIRE(ran.passes.size() == 1);
  finish::PassReport const& pass = ran.passes.front();
  INFO(pass.reason);
  REQUIRE(pass.status == PassStatus::restepped);
  CHECK(pass.target_um == 0.5);
  CHECK(pass.after.levels > 20);
  auto const at = pass.reason.find("do not bear levels for 0.50 um, these are for ");
  REQUIRE(at != std::string::npos);
  double const meant = std::stod(pass.reason.substr(at + 46));
  CHECK(pass.after.cusp_max_um <= 1.01 * meant);
  CHECK(meant < 5);

  // What the digits bear they bear no finer when it is asked for again.
  Restepped const twice = run_restep(ran.steps, {part.tool}, cusp_target(0.5), 1e-3);
  REQUIRE(twice.passes.size() == 1);
  INFO(twice.passes.front().reason);
  CHECK(twice.passes.front().status == PassStatus::kept);
  CHECK(same_stream(twice.steps, ran.steps));
}

TEST_CASE("what is kept at the finest target that the digits bear speaks of no levels that are written",
          "[parts]") {
  // Levels as close as the digits are: 0.006 um would take closer ones.
  RandomPart part;
  part.tool = cutter::parse_tool("ball 2").value();
  part.tool.number = 1;
  part.surface = {RandomSurface::Kind::draft, 2, 45, 1};
  part.outline.corners = {{-14, -11}, {16, -11}, {16, 12}, {-14, 12}};
  part.digits = 0.01;
  for (int k = 1; k <= 100; ++k)
    part.depths.push_back(part.digits * k);
  Restepped const ran = run_restep(part.program().value(), {part.tool}, cusp_target(0.006), part.digits);
  REQUIRE(ran.passes.size() == 1);
  finish::PassReport const& pass = ran.passes.front();
  INFO(pass.reason);
  CHECK(pass.status == PassStatus::kept);
  CHECK(pass.reason.find("these are for") == std::string::npos);
  CHECK(pass.reason.find("do not bear levels for 0.01 um, and its own stand as close as they bear") !=
        std::string::npos);
}
