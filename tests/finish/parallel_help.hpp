#pragma once

#include "finish/raster.hpp"
#include "tests/read_fixture.hpp"

#include <nlohmann/json.hpp>

#include <cmath>
#include <fstream>
#include <numbers>
#include <stdexcept>
#include <string>
#include <vector>

/// The workshop's parallel passes and the truth about them, by formulas of their own.
namespace restep::finish::testing {

using motion::Step;
using restep::testing::moved;

inline std::vector<Step> read_fixture(std::string const& name) {
  auto input = text::Input::open(restep::testing::fixture_path(name, "program.nc")).value();
  return restep::testing::read_program(input);
}

struct TruePass {
  nlohmann::json json;
  cutter::Tool tool;
  double resolution = 0;

  /// Height of the tip that touches the true surface, its axis over (x, y). Offsets of spheres, cylinders and
  /// planes are spheres, cylinders and planes; over the saddle the tool is let down onto a dense grid of
  /// points of the surface and then onto the parabola through the deepest of them.
  double tip(double x, double y) const {
    auto const& surface = json["surface"];
    std::string const kind = surface["kind"];
    double const r = tool.corner_radius;
    if (kind == "plane") {
      double const a = surface["slope"][0], b = surface["slope"][1];
      double const g = std::hypot(a, b);
      return a * x + b * y + tool.flat_radius() * g + r * (std::sqrt(1 + g * g) - 1);
    }
    double const big = surface["radius_mm"];
    if (kind == "dome") return std::sqrt((big + r) * (big + r) - x * x - y * y) - big - r;
    if (kind == "bowl") return big - std::sqrt((big - r) * (big - r) - x * x - y * y) - r;
    if (kind == "cylinder") {
      double const axis = surface["axis_deg"].get<double>() * std::numbers::pi / 180;
      double const across = -x * std::sin(axis) + y * std::cos(axis);
      return std::sqrt((big + r) * (big + r) - across * across) - big - r;
    }
    if (kind == "saddle") return over_saddle(x, y, big);
    throw std::runtime_error("unknown surface " + kind);
  }

private:
  // Greatest height at which a ball over (x, y) touches z = (x^2 - y^2) / 2a: Newton's method on the contact.
  double over_saddle(double x, double y, double a) const {
    double const r = tool.corner_radius;
    auto const lift = [&](double p, double q) {
      double const d2 = (p - x) * (p - x) + (q - y) * (q - y);
      return (p * p - q * q) / (2 * a) + std::sqrt(r * r - d2) - r;
    };
    double p = x, q = y;
    double step = 0.5;
    // The lift is concave within the ball's reach: pattern search, halving.
    while (step > 1e-12) {
      bool better = false;
      for (auto const& [dp, dq] : {std::pair{step, 0.0}, {-step, 0.0}, {0.0, step}, {0.0, -step}})
        if (std::hypot(p + dp - x, q + dq - y) < r && lift(p + dp, q + dq) > lift(p, q)) {
          p += dp;
          q += dq;
          better = true;
        }
      if (!better) step /= 2;
    }
    return lift(p, q);
  }
};

inline TruePass true_pass(std::string const& name) {
  std::ifstream file(std::string(RESTEP_SOURCE_DIR) + "/fixtures/" + name + "/truth.json");
  auto const json = nlohmann::json::parse(file);
  TruePass pass;
  pass.json = json["passes"][0];
  pass.resolution = json["resolution_mm"];
  pass.tool = cutter::parse_tool(pass.json["tool"]["text"].get<std::string>()).value();
  pass.tool.number = pass.json["tool"]["number"];
  return pass;
}

inline RasterLimits limits_for(cutter::Tool const& tool) {
  RasterLimits limits;
  limits.max_stepover = std::max(tool.diameter, 1.0);
  return limits;
}

inline PassRequest cusp_request(double um, double resolution) {
  PassRequest request;
  request.finish = cutter::FinishTarget{cutter::FinishKind::cusp, um / 1000, ""};
  request.resolution = resolution;
  return request;
}

} // namespace restep::finish::testing
