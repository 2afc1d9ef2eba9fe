// A sharp edge under a large corner radius: a chamfer of 45 degrees over a vertical wall.

#include "random_part.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;

namespace {

RandomPart chamfered(std::string const& tool, double first_depth) {
  RandomPart part;
  part.tool = cutter::parse_tool(tool).value();
  part.tool.number = 1;
  part.surface = {RandomSurface::Kind::chamfer_wall, 1.2, 0, 4};
  part.outline.corners = {{-14, -11}, {16, -7}, {13, 12}, {-17, 9}}; // no side along an axis
  for (int k = 0; first_depth + 0.15 * k < 4; ++k)
    part.depths.push_back(part.rounded(first_depth + 0.15 * k));
  return part;
}

} // namespace

TEST_CASE("a pass over a sharp edge is re-stepped wherever its levels fall beside the edge", "[restep]") {
  int with_more = 0; // levels at the ends of the tool's way about the edge
  for (std::string const tool : {"bull 6 r1", "ball 2"})
    for (double first = 0.15; first < 0.3; first += 0.031) {
      RandomPart const part = chamfered(tool, first);
      Restepped const ran = run_restep(part.program().value(), {part.tool}, cusp_target(1), part.digits);
      INFO(part.text() << " from " << first << " " << ran.proof_failure);
      CHECK(ran.proof_failure.empty());
      REQUIRE(ran.passes.size() == 1);
      finish::PassReport const& pass = ran.passes.front();
      INFO(pass.reason);
      CHECK(pass.status == finish::PassStatus::restepped);
      CHECK(pass.after.cusp_max_um <= 1.001);
      // Half a digit in X, in Y and in Z.
      CHECK(pass.gouge_um <= 1000 * part.digits);
      if (pass.reason.find("to go round a sharp edge") != std::string::npos) ++with_more;
    }
  CHECK(with_more > 0);
}
