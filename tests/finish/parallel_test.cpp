#include "parallel_help.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>

/// Parallel passes of the workshop against the generator's truth: surfaces by their own formulas.

using namespace restep;
using namespace restep::finish;
using namespace restep::finish::testing;
using geometry::Vec3;

namespace {

std::vector<std::string> const every = {"crown-x",          "crown-y",    "crown-30",   "crown-arcs",
                                        "crown-round",      "crown-hole", "crown-inch", "crown-incremental",
                                        "crown-every-word", "barrel",     "seat",       "saddle",
                                        "incline"};

RasterPass only_pass(std::vector<Step> const& steps, cutter::Tool const& tool) {
  auto passes = find_rasters(steps, limits_for(tool));
  REQUIRE(passes.size() == 1);
  return std::move(passes.front());
}

RasterOutcome restepped(std::vector<Step> const& steps, cutter::Tool const& tool, double um,
                        double resolution) {
  return restep_raster(steps, only_pass(steps, tool), &tool, tool.number, cusp_request(um, resolution));
}

} // namespace

TEST_CASE("every parallel pass is found with its lines, their direction and their distance", "[finish]") {
  for (std::string const& name : every) {
    INFO(name);
    TruePass const truth = true_pass(name);
    auto const steps = read_fixture(name);
    RasterPass const pass = only_pass(steps, truth.tool);
    CHECK(pass.lines.size() == truth.json["line_count"]);
    CHECK(geometry::degrees(pass.frame.angle) == Approx(truth.json["direction_deg"].get<double>()));
    CHECK(steps[pass.first_step()].place.line > truth.json["lines"][0]);
    CHECK(steps[pass.last_step()].place.line < truth.json["lines"][1]);
    double const stepover = truth.json["stepover_mm"];
    for (std::size_t k = 1; k < pass.lines.size(); ++k)
      CHECK(std::abs(pass.lines[k].v - pass.lines[k - 1].v) ==
            Approx(stepover).margin(1.5 * truth.resolution));
    RasterOutcome const outcome = restepped(steps, truth.tool, 2, truth.resolution);
    CHECK(outcome.report.raster->one_way == truth.json["one_way"]);
    CHECK(outcome.report.shape == truth.json["shape"]);
  }
}

TEST_CASE("a hole parts the lines that cross it", "[finish]") {
  TruePass const truth = true_pass("crown-hole");
  RasterPass const pass = only_pass(read_fixture("crown-hole"), truth.tool);
  for (RasterLine const& line : pass.lines)
    CHECK(line.pieces.size() == (std::abs(line.v + 1) < 2.5 ? 2 : 1));
}

TEST_CASE("the cusp across a cylinder is that of two circles", "[finish]") {
  TruePass const truth = true_pass("barrel");
  RasterOutcome const outcome = restepped(read_fixture("barrel"), truth.tool, 2, truth.resolution);
  // Lines across the axis: straight from line to line, so that formula (1) holds whatever their slope.
  double const cusp = 1000 * (3 - std::sqrt(9 - 0.2 * 0.2));
  CHECK(outcome.report.before.cusp_max_um == Approx(cusp).margin(0.1));
  CHECK(outcome.report.before.cusp_min_um == Approx(cusp).margin(0.1));
}

TEST_CASE("new lines lie on the true surface of the tip within the bound that is stated", "[finish]") {
  for (std::string const& name : every)
    for (double const um : {2.0, 0.6}) {
      TruePass const truth = true_pass(name);
      RasterOutcome const outcome = restepped(read_fixture(name), truth.tool, um, truth.resolution);
      INFO(name << " " << um << " " << outcome.report.reason);
      REQUIRE(outcome.report.status == PassStatus::restepped);
      double const allowed = outcome.report.raster->told_within_um / 1000 + truth.resolution / 2 + 1e-9;
      CHECK(outcome.report.raster->told_within_um <= 1000 * outcome.allowed);
      double lowest = 0;
      double highest = 0;
      RasterPass const pass = only_pass(outcome.steps, truth.tool);
      for (std::size_t k = 1; k + 1 < pass.lines.size(); ++k)
        for (RasterPiece const& piece : pass.lines[k].pieces)
          for (Vec3 const& p : piece.points) {
            double const off = p.z - truth.tip(p.x, p.y);
            lowest = std::min(lowest, off);
            highest = std::max(highest, off);
          }
      CHECK(lowest >= -allowed);
      CHECK(highest <= allowed);
    }
}

TEST_CASE("cusps meet the target at the worst place and the lines' first and last stay", "[finish]") {
  for (std::string const name : {"crown-x", "crown-y", "crown-arcs", "barrel", "seat", "incline"})
    for (double const um : {2.0, 0.6}) {
      TruePass const truth = true_pass(name);
      auto const steps = read_fixture(name);
      RasterPass const before = only_pass(steps, truth.tool);
      RasterOutcome const outcome = restepped(steps, truth.tool, um, truth.resolution);
      INFO(name << " " << um << " " << outcome.report.reason);
      CHECK(outcome.report.after.cusp_max_um <= um * (1 + 1e-9));
      CHECK(outcome.report.after.cusp_max_um >= 0.9 * um);
      CHECK(outcome.report.raster->kept_strips == 0);
      RasterPass const after = only_pass(outcome.steps, truth.tool);
      CHECK(after.lines.front().pieces.front().points == before.lines.front().pieces.front().points);
      CHECK(after.lines.back().pieces.back().points == before.lines.back().pieces.back().points);
    }
}

TEST_CASE("across a cylinder the number of lines is the least", "[finish]") {
  TruePass const truth = true_pass("barrel");
  for (double const um : {2.0, 0.5, 15.0}) {
    RasterOutcome const outcome = restepped(read_fixture("barrel"), truth.tool, um, truth.resolution);
    double const h = um / 1000;
    double const largest = 2 * std::sqrt(2 * 3 * h - h * h); // formula (3)
    auto steps = static_cast<std::size_t>(std::ceil(16 / largest));
    steps += steps % 2; // the last line keeps its direction
    INFO(um);
    CHECK(outcome.report.after.levels == steps + 1);
  }
}

TEST_CASE("lines that a pass does not need are left out", "[finish]") {
  TruePass const truth = true_pass("crown-x");
  RasterOutcome const outcome = restepped(read_fixture("crown-x"), truth.tool, 20, truth.resolution);
  CHECK(outcome.report.status == PassStatus::restepped);
  CHECK(outcome.report.after.levels < 28);
  CHECK(outcome.report.after.cusp_max_um <= 20);
}

TEST_CASE("the direction of the cut goes on alternating, or stays", "[finish]") {
  for (std::string const name : {"crown-x", "crown-y", "barrel"}) {
    TruePass const truth = true_pass(name);
    RasterOutcome const outcome = restepped(read_fixture(name), truth.tool, 2, truth.resolution);
    RasterPass const pass = only_pass(outcome.steps, truth.tool);
    auto const forward = [&](RasterLine const& line) {
      auto const& points = line.pieces.front().points;
      return dot(geometry::xy(points.back()) - geometry::xy(points.front()), pass.frame.u) > 0;
    };
    for (std::size_t k = 1; k < pass.lines.size(); ++k)
      CHECK((forward(pass.lines[k]) == forward(pass.lines[k - 1])) == truth.json["one_way"].get<bool>());
  }
}

TEST_CASE("re-stepping twice changes nothing more", "[finish]") {
  for (std::string const name : {"crown-x", "crown-y", "barrel", "seat"}) {
    TruePass const truth = true_pass(name);
    RasterOutcome const once = restepped(read_fixture(name), truth.tool, 2, truth.resolution);
    RasterOutcome const twice = restepped(once.steps, truth.tool, 2, truth.resolution);
    INFO(name << " " << twice.report.reason);
    CHECK(twice.report.status == PassStatus::kept);
    CHECK(twice.report.reason == "it already has the least number of lines that meets the target");
  }
}

TEST_CASE("a mirrored, a turned and a scaled part get the same lines", "[finish]") {
  for (std::string const name : {"crown-30", "seat"}) {
    TruePass const truth = true_pass(name);
    auto const steps = read_fixture(name);
    RasterOutcome const plain = restepped(steps, truth.tool, 2, truth.resolution);
    INFO(name);
    auto const same = [&](RasterOutcome const& other, double scale) {
      CHECK(other.report.after.levels == plain.report.after.levels);
      CHECK(other.report.after.cusp_max_um == Approx(scale * plain.report.after.cusp_max_um).epsilon(0.02));
      CHECK(other.report.after.stepdown_max_mm ==
            Approx(scale * plain.report.after.stepdown_max_mm).epsilon(0.02));
    };
    same(restepped(moved(steps, true,
                         [](Vec3 p) {
                           return Vec3{-p.x, p.y, p.z};
                         }),
                   truth.tool, 2, truth.resolution),
         1);
    same(restepped(moved(steps, false,
                         [](Vec3 p) {
                           return Vec3{-p.y, p.x, p.z};
                         }),
                   truth.tool, 2, truth.resolution),
         1);
    cutter::Tool large = truth.tool;
    large.diameter *= 10;
    large.corner_radius *= 10;
    same(restepped(moved(steps, false, [](Vec3 p) { return 10 * p; }), large, 20, 10 * truth.resolution), 10);
  }
}

TEST_CASE("where a ridge stands between the lines the strip is left and the report says so", "[finish]") {
  TruePass const truth = true_pass("crown-x");
  auto steps = read_fixture("crown-x");
  RasterPass const pass = only_pass(steps, truth.tool);
  // One line stands 30 um out, as over a rib that its neighbours do not meet.
  RasterLine const& rib = pass.lines[20];
  for (std::size_t i = rib.pieces.front().first_step() - 1; i <= rib.pieces.front().last_step() + 1; ++i) {
    motion::Motion* m = motion::motion_of(steps[i]);
    if (i >= rib.pieces.front().first_step()) m->from.z += 0.03;
    if (i <= rib.pieces.front().last_step()) m->to.z += 0.03;
  }
  RasterOutcome const outcome = restepped(steps, truth.tool, 2, truth.resolution);
  INFO(outcome.report.reason);
  CHECK(outcome.report.raster->kept_strips >= 2);
  CHECK(outcome.report.reason.find("were left as they were") != std::string::npos);
  RasterPass const after = only_pass(outcome.steps, truth.tool);
  CHECK(std::any_of(after.lines.begin(), after.lines.end(), [&](RasterLine const& line) {
    return std::abs(line.v - rib.v) < 1e-9 &&
           line.pieces.front().points.size() == rib.pieces.front().points.size();
  }));
}

TEST_CASE("without its tool a parallel pass is described and kept", "[finish]") {
  TruePass const truth = true_pass("crown-x");
  auto const steps = read_fixture("crown-x");
  RasterOutcome const outcome =
      restep_raster(steps, only_pass(steps, truth.tool), nullptr, 5, cusp_request(2, truth.resolution));
  CHECK(outcome.report.status == PassStatus::kept);
  CHECK(outcome.report.reason.find("not in the tool table") != std::string::npos);
  CHECK(outcome.report.before.levels == 41);
}

TEST_CASE("lines that are not parallel are no parallel pass", "[finish]") {
  std::vector<Step> steps;
  Vec3 at{0, 0, 0};
  for (int k = 0; k < 40; ++k) { // each line creeps sideways by the whole stepover: no two alike in a zigzag
    Vec3 const to{k % 2 == 0 ? 30.0 : 0.0, 0.1 * (k + 1), 0.01 * k};
    motion::Motion m;
    m.path = motion::PathKind::line;
    m.from = at;
    m.to = at = to;
    Step step;
    step.event = m;
    steps.push_back(step);
  }
  CHECK(find_rasters(steps, {}).empty());
}
