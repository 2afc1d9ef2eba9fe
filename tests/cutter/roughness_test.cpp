#include "cutter/cusp.hpp"
#include "cutter/roughness.hpp"
#include "shapes.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <vector>

using namespace restep::cutter;
using namespace restep::cutter::shapes;
using Catch::Matchers::WithinAbs;

namespace {

Profile profile_on(double r, Piece const& piece, double diameter = 6) {
  return profile_between(end_mill(r, diameter), meridian({piece}), piece.from, piece.to);
}

/// A 45 degree plane on which two contacts lie s apart: two plain arcs.
Piece arcs_apart(double s) {
  return plane(45, s * std::sqrt(0.5));
}

} // namespace

TEST_CASE("the profile of two arcs has the roughness of formula (28)") {
  // Cases 35 to 38; exact circular arcs, two ways. Case 38 is turning with f 0.2 and a nose of 0.8.
  struct Case {
    double r, s, ra, rq, rt;
  };
  auto const c = GENERATE(Case{3, 0.5, 2.67664, 3.11029, 10.4348}, Case{0.5, 0.3, 5.88130, 6.84280, 23.0304},
                          Case{1, 1, 33.8610, 39.5114, 133.975}, Case{0.8, 0.2, 1.60879, 0, 6.27461});
  Piece const piece = arcs_apart(c.s);
  Tool const tool = end_mill(c.r, 8);
  Profile const p = profile_on(c.r, piece, 8);
  auto const digit = [](double v) { return 0.5 * std::pow(10.0, std::floor(std::log10(v)) - 5) * 1e-3; };
  CHECK_THAT(p.ra, WithinAbs(c.ra * 1e-3, digit(c.ra)));
  if (c.rq > 0) CHECK_THAT(p.rq, WithinAbs(c.rq * 1e-3, digit(c.rq)));
  CHECK_THAT(cusp_height(tool, meridian({piece}), piece.from, piece.to), WithinAbs(c.rt * 1e-3, digit(c.rt)));
  CHECK(p.length == Approx(c.s).epsilon(1e-12));
}

TEST_CASE("a shallow arc has the roughness of a parabola") {
  // Case 33: Ra/h 0.256600, Rq/h 0.298142, mean at h/3.
  Piece const piece = arcs_apart(0.01);
  double const h = cusp_height(end_mill(3, 8), meridian({piece}), piece.from, piece.to);
  Profile const p = profile_on(3, piece, 8);
  CHECK_THAT(p.ra / h, WithinAbs(0.256600, 5e-7));
  CHECK_THAT(p.rq / h, WithinAbs(0.298142, 5e-7));
  CHECK(p.mean / h == Approx(1.0 / 3).epsilon(1e-5));
}

TEST_CASE("the stair of a sharp corner has the roughness of a zigzag") {
  // Case 34: Ra/h 0.25, Rq/h 0.288675, at any slope.
  double const theta = GENERATE(5.0, 30.0, 60.0, 89.0);
  Piece const piece = plane(theta, 0.1);
  double const h = cusp_height(end_mill(0), meridian({piece}), piece.from, piece.to);
  Profile const p = profile_on(0, piece);
  CHECK(p.ra / h == Approx(0.25).epsilon(1e-9));
  CHECK_THAT(p.rq / h, WithinAbs(0.288675, 5e-7));
}

TEST_CASE("mixed outlines have the roughness of their quadrature") {
  // Cases 39 to 41, the outlines of cases 6 to 8; two quadratures.
  Profile const side = profile_on(0.5, plane(89, 0.3));
  CHECK_THAT(side.ra, WithinAbs(1.06379e-3, 5e-9));
  CHECK_THAT(side.rq, WithinAbs(1.22220e-3, 5e-9));
  CHECK_THAT(profile_on(0.5, plane(10, 0.05)).ra, WithinAbs(5.09399e-3, 5e-9));
  CHECK_THAT(profile_on(0.2, plane(35, 0.4)).ra, WithinAbs(70.0686e-3, 5e-8));
}

TEST_CASE("Ra of any outline on a plane stays between 0.2470 and 0.2833 of the cusp") {
  // Formula (30), found there by a scan over all slopes and steps.
  for (double theta = 2; theta < 90; theta += 4)
    for (double const r : {0.05, 0.2, 0.5, 1.0})
      for (double const s : {0.01, 0.1, 0.4, 1.0}) {
        Piece const piece = plane(theta, s * std::sin(restep::geometry::radians(theta)));
        double const h = cusp_height(end_mill(r), meridian({piece}), piece.from, piece.to);
        double const ratio = profile_on(r, piece).ra / h;
        CHECK(ratio > 0.2469);
        CHECK(ratio < 0.2834);
      }
}

TEST_CASE("on a curved surface the roughness is that of its heights along the surface") {
  // A plain sum over many places of a round and a fillet: the height along the normal up to the outline,
  // found by bisection on the two silhouettes, knows nothing of pieces and corners.
  struct Case {
    bool convex;
    double R, r, from, to;
  };
  auto const c = GENERATE(Case{true, 2, 0.5, 40, 50}, Case{true, 2, 0.5, 78, 88}, Case{true, 2, 0.5, 0, 8},
                          Case{false, 3, 0.5, 50, 40}, Case{false, 3, 0.5, 88, 78},
                          Case{false, 3, 0.5, 10, 1}, Case{false, 3, 0, 56, 2}, Case{true, 3, 0.2, 30, 55});
  Piece const piece = c.convex ? convex(c.R, c.r, c.from, c.to) : concave(c.R, c.r, c.from, c.to);
  auto const inside = [&](Vec2 tip, Vec2 p) { // inside a tool: a rounded quadrant
    Vec2 const d = p - tip - Vec2{0, c.r};
    if (d.x < -c.r || d.y < -c.r) return false;
    return d.x >= 0 || d.y >= 0 || restep::geometry::length(d) < c.r;
  };
  int const count = 20000;
  std::vector<double> heights;
  double mean = 0;
  for (int i = 0; i < count; ++i) {
    Vec2 const n = normal(c.from + (c.to - c.from) * (i + 0.5) / count);
    Vec2 const at = c.convex ? c.R * n : -c.R * n; // the centre of the piece is the origin
    double low = 0, high = 3;
    for (int k = 0; k < 50; ++k) {
      double const middle = (low + high) / 2;
      Vec2 const p = at + middle * n;
      ((inside(piece.from, p) || inside(piece.to, p)) ? high : low) = middle;
    }
    heights.push_back(low);
    mean += low / count;
  }
  double ra = 0;
  for (double const h : heights)
    ra += std::abs(h - mean) / count;
  Profile const p = profile_on(c.r, piece);
  CHECK(p.mean == Approx(mean).epsilon(1e-5));
  CHECK(p.ra == Approx(ra).epsilon(1e-5));
}

TEST_CASE("a level that stands off the surface tilts the profile but does not roughen it") {
  Piece const piece = plane(60, 0.2);
  Meridian const m = meridian({piece});
  Vec2 const off = 0.0004 * normal(60);
  double const exact = profile_on(0.5, piece).ra;
  CHECK(profile_between(end_mill(0.5), m, piece.from + off, piece.to + off).ra ==
        Approx(exact).epsilon(1e-8));
}

TEST_CASE("two positions on one edge leave no profile") {
  CHECK(profile_on(0.5, convex(0, 0.5, 20, 60)).ra == 0);
}

TEST_CASE("the fillet a tool leaves in a sharp inner corner is part of the profile") {
  // Wall to 30 degrees: the corner itself is a fillet of radius r over 60 degrees.
  Piece const wall = line({0, 0.1}, {0, 0});
  Piece const ramp = plane(30, 0.05);
  Meridian const m = meridian({wall, ramp});
  Profile const p = profile_between(end_mill(0.5), m, wall.from, ramp.to);
  CHECK(p.length == Approx(0.1 + 0.1 + 0.5 * restep::geometry::radians(60)).epsilon(1e-6));
  CHECK(p.ra > 0);
}

TEST_CASE("the filter of 0.8 keeps 0.992767 of a wave of 0.3") {
  CHECK_THAT(share_kept_as_roughness(0.3, 0.8), WithinAbs(0.992767, 5e-7)); // case 42
  CHECK(share_kept_as_roughness(0.8, 0.8) == 0.5);
}
