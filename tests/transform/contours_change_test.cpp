// Islands that run together on the way down: the step between the two passes is told.

#include "fixture.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::PathKind;

namespace {

constexpr double half = 10;                 // of the distance between the two bosses
constexpr double step = 0.3;                // from level to level, mm
constexpr double slope = 0.577350269189626; // tan 30 degrees: a chamfer of 30 degrees from the axis

double to_digits(double x) {
  return std::round(x * 1e4) / 1e4;
}

/// Two cones side by side, cut in levels: two circles each as long as these do not meet, then one contour.
/// Before one level the coolant may be turned off.
std::vector<Step> cones(int levels, int coolant_off_before = 0) {
  Program p;
  p.rapid(0, 0, 15);
  auto const arc = [&](double x, double y, double about, double z) {
    p.arc(PathKind::arc_cw, motion::Plane::xy, {to_digits(x), to_digits(y), z}, {about, 0, z}, 400);
  };
  for (int k = 1; k <= levels; ++k) {
    double const z = to_digits(-step * k);
    double const r = 8 + step * k * slope;
    if (k == coolant_off_before) p(motion::Coolant{});
    if (r < half) {
      for (double const x : {-half, half}) {
        p.rapid(to_digits(x - r), 0, 2).feed(nowhere, nowhere, z, 150);
        arc(x + r, 0, x, z);
        arc(x - r, 0, x, z);
        p.rapid_z(2);
      }
      continue;
    }
    double const h = std::sqrt(r * r - half * half);
    p.rapid(to_digits(-half - r), 0, 2).feed(nowhere, nowhere, z, 150);
    arc(0, h, -half, z);
    arc(half + r, 0, half, z);
    arc(0, -h, half, z);
    arc(-half - r, 0, -half, z);
    p.rapid_z(2);
  }
  return p.steps;
}

std::vector<std::string> notes_of(Restepped const& ran) {
  std::vector<std::string> notes;
  for (text::Finding const& finding : ran.findings.all())
    if (finding.code == "contours-change") notes.push_back(finding.message);
  return notes;
}

} // namespace

TEST_CASE(
    "where bosses run together both passes are re-stepped, and the step between them is told with its cusp",
    "[contours]") {
  cutter::Tool tool = cutter::parse_tool("bull 3 r0.3").value();
  tool.number = 0;
  Restepped const ran = run_restep(cones(20), {tool}, cusp_target(5), 1e-4);
  CHECK(ran.proof_failure == "");
  REQUIRE(ran.passes.size() == 2);
  for (finish::PassReport const& pass : ran.passes) {
    INFO(pass.reason);
    CHECK(pass.status == finish::PassStatus::restepped);
    CHECK(pass.after.cusp_max_um <= 5.01);
  }
  auto const notes = notes_of(ran);
  REQUIRE(notes.size() == 1);
  // The lower tool's side meets the upper one's corner arc, surface-finish reference, formula (7): with
  // du = 0.3 tan 30 and r = 0.3 the meeting point stands 54.2 um above the plane.
  double const r = 0.3, du = step * slope, c30 = std::sqrt(0.75);
  double const height = c30 * (du - r) - 0.5 * std::sqrt(2 * r * du - du * du) + r;
  CHECK(height == Approx(0.0542).margin(0.0001));
  CHECK(notes[0] ==
        "between pass 1 and pass 2 the levels go from 2 contours at Z-3.3000 to 1 contour at Z-3.6000: the "
        "step of 0.3000 mm between them stays, and a cusp of about 54.2 um");
}

TEST_CASE("where as many contours go all the way down nothing is told", "[contours]") {
  cutter::Tool tool = cutter::parse_tool("bull 3 r0.3").value();
  tool.number = 0;
  CHECK(notes_of(run_restep(cones(10), {tool}, cusp_target(5), 1e-4)).empty());
}

TEST_CASE("where more than motion stands between two levels, the step between them is told", "[contours]") {
  cutter::Tool tool = cutter::parse_tool("bull 3 r0.3").value();
  tool.number = 0;
  Restepped const ran = run_restep(cones(10, 6), {tool}, cusp_target(5), 1e-4);
  REQUIRE(ran.passes.size() == 2);
  auto const notes = notes_of(ran);
  REQUIRE(notes.size() == 1);
  // The cusp is that of the step at the junction above: the same slope, tool and stepdown.
  CHECK(notes[0] ==
        "between pass 1 and pass 2 the levels go from Z-1.5000 to Z-1.8000: the step of 0.3000 mm "
        "between them stays, and a cusp of about 54.2 um");
}

TEST_CASE("levels whose islands are cut in an order of their own each time are no pass, and that is told",
          "[contours]") {
  cutter::Tool tool = cutter::parse_tool("bull 3 r0.3").value();
  tool.number = 0;
  // Three discs, of which every level begins with another one: 012 120 201 012 ...
  Program p;
  p.rapid(0, 0, 15);
  for (int k = 0; k < 6; ++k)
    for (int i = 0; i < 3; ++i) {
      double const x = 30 * ((k + i) % 3), r = 8 + 0.1 * k, z = -0.3 * (k + 1);
      p.rapid(x - r, 0, 2).feed(nowhere, nowhere, z, 150);
      p.arc(PathKind::arc_cw, motion::Plane::xy, {x + r, 0, z}, {x, 0, z}, 400);
      p.arc(PathKind::arc_cw, motion::Plane::xy, {x - r, 0, z}, {x, 0, z}, 400);
      p.rapid_z(2);
    }
  auto const notes = [&](PassTarget const& target) {
    std::vector<std::string> found;
    Restepped const ran = run_restep(p.steps, {tool}, target, 1e-4);
    for (text::Finding const& finding : ran.findings.all())
      if (finding.code == "levels-not-read") found.push_back(finding.message);
    return found;
  };
  auto const told = notes(cusp_target(5));
  REQUIRE(told.size() == 1);
  CHECK(told[0].find("cuts at 6 heights") == 0);
  CHECK(notes({}).empty());
}
