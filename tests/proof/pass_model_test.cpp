#include "cutter/finish_target.hpp"
#include "finish/pass.hpp"
#include "interpret/reader.hpp"
#include "proof/pass_model.hpp"
#include "proof/pass_section.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <string>
#include <vector>

using namespace restep;
using geometry::Vec2;
using geometry::Vec3;

namespace {

// The bell cap (edge round R1, wall of 5 degrees, bull 3 r0.3) re-stepped to 2 um, ready to be sabotaged.
struct BellCap {
  std::vector<motion::Step> program;
  std::vector<finish::Stack> stacks;
  cutter::Tool tool = cutter::parse_tool("bull 3 r0.3").value();
  finish::PassOutcome outcome;

  BellCap() {
    auto input = text::Input::open(std::string(RESTEP_SOURCE_DIR) + "/fixtures/bell-cap/program.nc").value();
    text::Findings findings;
    interpret::ProgramReader reader(input, {}, findings);
    for (motion::Step step; reader.next(step);)
      program.push_back(step);
    stacks = finish::find_stacks(finish::find_contours(program), {});
    REQUIRE(stacks.size() == 1);
    finish::PassRequest request;
    request.finish = cutter::FinishTarget{cutter::FinishKind::cusp, 0.002, ""};
    request.resolution = 0.0001;
    outcome = finish::restep_pass(program, stacks[0], &tool, 3, request);
    REQUIRE(outcome.knowledge);
  }

  proof::IntendedSurface surface() const {
    return {stacks[0], outcome.knowledge->offsets, outcome.knowledge->fit, tool};
  }
  proof::PassMeasure measure(std::vector<motion::Step> const& steps) const {
    auto const measured = proof::measure_pass(steps, surface());
    INFO((measured ? "" : measured.error()));
    REQUIRE(measured);
    return *measured;
  }
};

// Moves every level cut at height z by `shift` in plan.
std::vector<motion::Step> moved_level(std::vector<motion::Step> steps, double z, Vec2 shift) {
  for (motion::Step& step : steps) {
    motion::Motion* m = motion::motion_of(step);
    if (m == nullptr) continue;
    for (Vec3* p : {&m->from, &m->to})
      if (std::abs(p->z - z) < 1e-9) *p = *p + Vec3{shift.x, shift.y, 0};
    if (motion::is_arc(*m) && std::abs(m->centre.z - z) < 1e-9)
      m->centre = m->centre + Vec3{shift.x, shift.y, 0};
  }
  return steps;
}

double height_of_middle_level(finish::PassOutcome const& outcome) {
  return outcome.report.after.positions[outcome.report.after.positions.size() / 2].y;
}

} // namespace

TEST_CASE("the model measures the cusps that the closed forms give within 0.1 um", "[proof]") {
  BellCap const cap;
  auto const measured = cap.measure(cap.outcome.steps);
  CHECK(1000 * measured.cusp.value == Approx(cap.outcome.report.after.cusp_max_um).margin(0.1));
  CHECK(measured.gouge.value < 0.0001);
  CHECK(measured.levels == cap.outcome.report.after.levels);
}

TEST_CASE("the model finds a level that stands 5 um too near to the material", "[proof]") {
  BellCap const cap;
  double const z = height_of_middle_level(cap.outcome);
  auto const measured = cap.measure(moved_level(cap.outcome.steps, z, {0, 0.005}));
  // On the side that moved inwards the wall is cut by 5 um, less the cosine of its 5 degrees.
  CHECK(1000 * measured.gouge.value == Approx(5 * std::cos(geometry::radians(5))).margin(0.1));
  CHECK(measured.gouge.at.z == Approx(z));
}

TEST_CASE("the model finds a level that is missing", "[proof]") {
  BellCap const cap;
  double const z = height_of_middle_level(cap.outcome);
  std::vector<motion::Step> steps;
  bool inside = false;
  for (motion::Step const& step : cap.outcome.steps) {
    motion::Motion const* m = motion::motion_of(step);
    bool const cut = m != nullptr && finish::is_level_cut(*m) && std::abs(m->from.z - z) < 1e-9;
    inside = inside || cut;
    if (!cut) steps.push_back(step);
  }
  REQUIRE(inside);
  auto const measured = cap.measure(steps);
  CHECK(measured.cusp.value > 2.5 * 0.001 * cap.outcome.report.after.cusp_max_um);
}

TEST_CASE("the model finds a link that cuts the wall by 20 um", "[proof]") {
  BellCap const cap;
  auto steps = cap.outcome.steps;
  // The lead-in of one of the lower levels begins inside the part instead of outside.
  double const z = cap.outcome.report.after.positions[cap.outcome.report.after.positions.size() - 5].y;
  auto const before = cap.measure(steps);
  for (std::size_t i = 1; i < steps.size(); ++i) {
    motion::Motion* m = motion::motion_of(steps[i]);
    if (m == nullptr || !finish::is_level_cut(*m) || std::abs(m->from.z - z) > 1e-9) continue;
    // The first motion at this height is the lead-in: take it from a place on the other side of its end.
    Vec3 const end = m->to;
    Vec2 const tangent =
        motion::is_arc(*m) ? normalized(left_normal(geometry::xy(end - m->centre))) : Vec2{1, 0};
    Vec2 const normal = left_normal(tangent);
    double const away = dot(normal, geometry::xy(m->from - end)) > 0 ? 1 : -1;
    m->path = motion::PathKind::line;
    m->from = geometry::at_height(geometry::xy(end) - 0.02 * away * normal, z);
    break;
  }
  auto const after = cap.measure(steps);
  CHECK(before.link_gouge.value < 0.001);
  CHECK(after.link_gouge.value == Approx(0.02 * std::cos(geometry::radians(5))).margin(0.002));
}

TEST_CASE("the model measures the same with any number of threads", "[proof][law]") {
  BellCap const cap;
  auto const alone = proof::measure_pass(cap.outcome.steps, cap.surface(), 1);
  REQUIRE(alone);
  CHECK(alone->gouge.value > 0);
  for (std::size_t const threads : {2, 3, 16}) {
    auto const shared = proof::measure_pass(cap.outcome.steps, cap.surface(), threads);
    REQUIRE(shared);
    auto const same = [](proof::Spot const& a, proof::Spot const& b) {
      return a.value == b.value && a.at == b.at && a.line == b.line;
    };
    CHECK(same(shared->gouge, alone->gouge));
    CHECK(same(shared->peak, alone->peak));
    CHECK(same(shared->cusp, alone->cusp));
    CHECK(same(shared->link_gouge, alone->link_gouge));
    CHECK(shared->sections == alone->sections);
  }
}

// Digits let an arc's ends lie at two distances from its centre; the way between them is told in
// geometry/arc.hpp. A section on it must find no step there.
TEST_CASE("a section crosses an arc of two radii where the arc is", "[proof]") {
  double const other_radius = GENERATE(4.002, 3.998, 4.0);
  finish::Segment arc;
  arc.arc = true;
  arc.ccw = GENERATE(true, false);
  double const turn = arc.ccw ? 1 : -1;
  arc.from = {4, 0};
  arc.to = {0, turn * other_radius};
  for (double const share : {0.05, 0.3, 0.5, 0.8, 0.95}) {
    Vec2 const place = arc.point_at(share);
    std::vector<double> found;
    proof::crossings({Vec2{}, normalized(place)}, arc, 0, found);
    REQUIRE(found.size() == 1);
    CHECK(found.front() == Approx(length(place)).margin(1e-9));
    CHECK(found.front() == Approx(4 + share * (other_radius - 4)).margin(1e-9));
  }
}
