#include "cutter/cusp.hpp"
#include "finish/raster_rule.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>

/// Two lines of a parallel pass at one place, against the closed forms for levels (surface-finish reference,
/// section 1) and against each other.

using namespace restep;
using finish::RasterPlace;
using finish::RasterRule;

namespace {

cutter::Tool tool(std::string_view words) {
  return cutter::parse_tool(words).value();
}

// Two lines at constant height on a plane of slope theta (degrees), rising with v.
RasterPlace on_plane(double theta, double dz) {
  double const dv = dz / std::tan(theta * std::numbers::pi / 180);
  return {0, 0, dv, dz, dz / 2, 0};
}

} // namespace

TEST_CASE("lines at constant height leave the cusps of levels, whatever parts of the tool meet", "[finish]") {
  // Reference, section 8, cases 3 to 8: slope, corner radius, step in z, cusp.
  struct Case {
    double theta, r, dz, h;
  };
  for (Case const& c : {Case{45, 0.5, 0.3, 0.0472307},
                        {60, 0.5, 0.2, 0.0135160},
                        {80, 0.5, 0.3, 0.0208229},
                        {89, 0.5, 0.3, 0.00405226},
                        {10, 0.5, 0.05, 0.0189908},
                        {35, 0.2, 0.4, 0.249115}}) {
    INFO("slope " << c.theta << " dz " << c.dz);
    std::string const words = "bull 6 r" + std::to_string(c.r);
    CHECK(RasterRule(tool(words)).cusp(on_plane(c.theta, c.dz)) == Approx(c.h).epsilon(2e-5));
  }
}

TEST_CASE("a ball's cusp on a plane is that of two circles, the lines level or steep", "[finish]") {
  RasterRule const rule(tool("ball 6"));
  for (double const rise : {0.0, 0.4, -1.1})
    for (double const across : {0.0, 0.3, -0.8}) {
      double const dv = 0.4;
      RasterPlace const place{0, 0, dv, across * dv, across * dv / 2, rise};
      // Distance of the contacts along the plane, normal to the cut.
      double const s = dv * std::sqrt(1 + across * across / (1 + rise * rise));
      CHECK(rule.cusp(place) == Approx(3 - std::sqrt(9 - s * s / 4)).epsilon(1e-9));
    }
}

TEST_CASE("across a round and a hollow the cusp is that of formula (16) and (21)", "[finish]") {
  double const r = 3;
  double const R = 20;
  for (double const sign : {1.0, -1.0}) {
    double const rho = R + sign * r; // of the tips
    double const v1 = 4, v2 = 4.5;
    auto const tip = [&](double v) { return sign * std::sqrt(rho * rho - v * v); };
    RasterPlace const place{v1, tip(v1), v2, tip(v2), tip((v1 + v2) / 2), 0};
    double const psi = std::asin(v2 / rho) - std::asin(v1 / rho);
    double const h = sign > 0 ? rho * std::cos(psi / 2) -
                                    std::sqrt(r * r - rho * rho * std::sin(psi / 2) * std::sin(psi / 2)) - R
                              : R - rho * std::cos(psi / 2) -
                                    std::sqrt(r * r - rho * rho * std::sin(psi / 2) * std::sin(psi / 2));
    CHECK(RasterRule(tool("ball 6")).cusp(place) == Approx(h).margin(1e-8));
  }
}

TEST_CASE("the general way and the closed form of a ball agree", "[finish]") {
  // A bull whose flat is a hair wide is measured in the general way.
  RasterRule const ball(tool("ball 6"));
  RasterRule const nearly(tool("bull 6.000004 r3"));
  for (double const rise : {0.0, 0.7})
    for (double const across : {0.1, -0.5})
      for (double const bulge : {0.0, 0.0004, -0.0004}) {
        RasterPlace const place{1, 2, 1.4, 2 + 0.4 * across, 2 + 0.2 * across + bulge, rise};
        CHECK(nearly.cusp(place) == Approx(ball.cusp(place)).margin(2e-6));
      }
}

TEST_CASE("lines farther apart than the tool is wide leave a ridge", "[finish]") {
  CHECK(std::isinf(RasterRule(tool("ball 2")).cusp({0, 0, 2.1, 0, 0, 0})));
  CHECK(std::isinf(RasterRule(tool("flat 2")).cusp({0, 0, 2.1, 0, 0, 0})));
  CHECK(RasterRule(tool("flat 2")).cusp({0, 0, 1.9, 0, 0, 0}) == 0);
}

TEST_CASE("Ra of lines is that of circular arcs", "[finish]") {
  // Reference, section 8, case 35: r 3, s 0.5: Ra 2.67664 um.
  CHECK(1000 * RasterRule(tool("ball 6")).ra({0, 0, 0.5, 0, 0, 0}) == Approx(2.67664).epsilon(1e-5));
}
