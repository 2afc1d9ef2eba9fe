// Check cases 3 to 31 of the collection of figures on cusps: each computed two ways there (closed form and
// bisection of the two tool outlines at 25 to 40 digits), printed with six significant digits.

#include "cutter/cusp.hpp"
#include "shapes.hpp"

#include <catch2/catch.hpp>

using namespace restep::cutter;
using namespace restep::cutter::shapes;
using Catch::Matchers::WithinAbs;

namespace {

struct PlaneCase {
  double theta, r, dz, h;
  CuspCase kind;
};

double cusp_on_piece(double r, Piece const& piece) {
  return cusp_height(end_mill(r), meridian({piece}), piece.from, piece.to);
}

CuspCase case_of(double r, Piece const& piece) {
  restep::geometry::Vec2 const up{0, r};
  return cusp_point(r, false, piece.from + up, piece.to + up).kind;
}

/// Half of the last of six significant digits.
double half_digit(double value) {
  return 0.5 * std::pow(10.0, std::floor(std::log10(std::abs(value))) - 5) * (1 + 1e-9);
}

} // namespace

TEST_CASE("the cusp on a plane is the one where the two silhouettes really meet") {
  // Formulas (10) to (13), cases 3 to 9; case 9 is also the layer rule of Dolenc & Maekelae,
  // Comput.-Aided Des. 26(2), 1994.
  auto const c = GENERATE(PlaneCase{45, 0.5, 0.3, 0.0472307, CuspCase::arc_arc},
                          PlaneCase{60, 0.5, 0.2, 0.0135160, CuspCase::arc_arc},
                          PlaneCase{80, 0.5, 0.3, 0.0208229, CuspCase::arc_side},
                          PlaneCase{89, 0.5, 0.3, 0.00405226, CuspCase::arc_side},
                          PlaneCase{10, 0.5, 0.05, 0.0189908, CuspCase::flat_arc},
                          PlaneCase{35, 0.2, 0.4, 0.249115, CuspCase::flat_side},
                          PlaneCase{30, 0, 0.3, 0.259808, CuspCase::flat_side},
                          PlaneCase{89, 0, 0.3, 0.00523572, CuspCase::flat_side});
  Piece const piece = plane(c.theta, c.dz);
  CHECK(case_of(c.r, piece) == c.kind);
  CHECK_THAT(cusp_on_piece(c.r, piece), WithinAbs(c.h, half_digit(c.h)));
}

TEST_CASE("equal arcs on a plane leave r - sqrt(r^2 - s^2/4)") {
  // Case 1: r 3, s 0.5, formula (1).
  CHECK_THAT(cusp_on_piece(3 - 1e-9, plane(45, 0.5 * std::sqrt(0.5))), WithinAbs(0.0104348, 5e-8));
}

TEST_CASE("the cusp on a convex round is measured from its centre") {
  // Formulas (5) to (9), cases 16 to 20.
  struct Case {
    double R, r, from, to, h;
    CuspCase kind;
  };
  auto const c = GENERATE(
      Case{2, 0.5, 40, 50, 0.0404598, CuspCase::arc_arc}, Case{2, 0.5, 75, 85, 0.0269191, CuspCase::arc_side},
      Case{2, 0.5, 0, 6, 0.00525649, CuspCase::flat_arc}, Case{3, 0.2, 30, 55, 0.531871, CuspCase::flat_side},
      Case{2, 0, 40, 50, 0.166701, CuspCase::flat_side});
  Piece const piece = convex(c.R, c.r, c.from, c.to);
  CHECK(case_of(c.r, piece) == c.kind);
  CHECK_THAT(cusp_on_piece(c.r, piece), WithinAbs(c.h, half_digit(c.h)));
}

TEST_CASE("a sharp tool stepping from z 1.9 to z 1.85 on a round of 2 leaves 0.0463382") {
  // Case 21, formula (19).
  auto const theta = [](double z) { return restep::geometry::degrees(std::acos(z / 2)); };
  CHECK_THAT(cusp_on_piece(0, convex(2, 0, theta(1.9), theta(1.85))), WithinAbs(0.0463382, 5e-8));
}

TEST_CASE("the cusp in a concave fillet is measured from its centre") {
  // Formulas (5) to (9), cases 25 to 28.
  struct Case {
    double R, r, from, to, h;
    CuspCase kind;
  };
  auto const c = GENERATE(
      Case{3, 0.5, 50, 40, 0.0594863, CuspCase::arc_arc}, Case{3, 0.5, 88, 78, 0.0382050, CuspCase::arc_side},
      Case{3, 0.5, 10, 2, 0.0252723, CuspCase::flat_arc}, Case{3, 0, 50, 40, 0.272883, CuspCase::flat_side});
  Piece const piece = concave(c.R, c.r, c.from, c.to);
  CHECK(case_of(c.r, piece) == c.kind);
  CHECK_THAT(cusp_on_piece(c.r, piece), WithinAbs(c.h, half_digit(c.h)));
}

TEST_CASE("the small-step formula on a round is the limit of the exact cusp") {
  // Formulas (17) and (22): h -> (s^2/8) (1/r +- 1/R).
  double const step = 0.05, R = 3, r = 0.5;
  double const s = R * restep::geometry::radians(step);
  CHECK(cusp_on_piece(r, convex(R, r, 45, 45 + step)) == Approx(s * s / 8 * (1 / r + 1 / R)).epsilon(1e-4));
  CHECK(cusp_on_piece(r, concave(R, r, 45 + step, 45)) == Approx(s * s / 8 * (1 / r - 1 / R)).epsilon(1e-4));
}

TEST_CASE("a vertical wall has no cusp") {
  Piece const wall = line({2, 0}, {2, -5});
  CHECK(cusp_on_piece(0.5, wall) == 0);
  CHECK(cusp_point(0.5, false, {2, 0}, {2, -5}).kind == CuspCase::none);
}

TEST_CASE("a step towards the material has no cusp") {
  CHECK(cusp_point(0.5, false, {2, 0}, {1.9, -5}).kind == CuspCase::none);
}

TEST_CASE("a step on a floor leaves nothing under a flat") {
  Piece const floor = line({0, 0}, {1, 0});
  CHECK(cusp_on_piece(0, floor) == 0);
  CHECK(cusp_on_piece(0.5, floor) == Approx(0).margin(1e-15));
}

TEST_CASE("a ball leaves two arcs on a floor where a bull leaves nothing") {
  Piece const floor = line({0, 0}, {0.5, 0});
  double const r = 3;
  double const h = cusp_height(end_mill(r), meridian({floor}), floor.from, floor.to);
  CHECK_THAT(h, WithinAbs(0.0104348, 5e-8)); // case 1: r 3, s 0.5
}

TEST_CASE("a ball's arc goes on past its tip on a shallow slope") {
  // At 5 degrees a bull of the same corner is bounded by its bottom (case D), a ball is not: plain arcs.
  double const r = 3, s = 1;
  Piece const piece = plane(5, s * std::sin(restep::geometry::radians(5)));
  double const h = cusp_height(end_mill(r), meridian({piece}), piece.from, piece.to);
  CHECK(h == Approx(r - std::sqrt(r * r - s * s / 4)).epsilon(1e-9));
}

TEST_CASE("nothing is left between two positions about one sharp edge") {
  double const r = 0.5;
  Piece const edge = convex(0, r, 0, 90);
  CHECK(cusp_on_piece(r, convex(0, r, 20, 60)) == Approx(0).margin(1e-12));
  // A program that rounds the edge tighter than the corner radius cannot leave more.
  Piece const tight = convex(-0.001, r, 20, 60);
  CHECK(cusp_on_piece(r, tight) == 0);
  CHECK(cusp_on_piece(r, edge) == Approx(0).margin(1e-12));
}

TEST_CASE("a stair wider than the bottom of the tool leaves a ridge") {
  Tool const bull = end_mill(0.5, 6); // bottom 5 wide: du up to 2 Rt - r = 5.5 on a stair
  CHECK_FALSE(leaves_ridge(bull, {0, 0}, {5.49, -1}));
  CHECK(leaves_ridge(bull, {0, 0}, {5.51, -1}));
  Tool const ball = end_mill(3, 6);
  CHECK_FALSE(leaves_ridge(ball, {0, 0}, {5.99, -1}));
  CHECK(leaves_ridge(ball, {0, 0}, {6.01, -1}));
  CHECK_FALSE(leaves_ridge(bull, {0, 0}, {0, -30}));
}

TEST_CASE("all lengths doubled double the cusp") {
  for (double const theta : {5.0, 35.0, 60.0, 88.0})
    for (double const r : {0.0, 0.2, 0.5}) {
      double const once = cusp_on_piece(r, plane(theta, 0.3));
      Piece const twice = plane(theta, 0.6);
      double const h = cusp_height(end_mill(2 * r, 12), meridian({twice}), twice.from, twice.to);
      CHECK(h == Approx(2 * once).epsilon(1e-12));
    }
}

TEST_CASE("mirrored about the 45 degree line the same two levels leave the same cusp") {
  // Bottom and side change places; on a plane theta becomes 90 - theta, on a round the angles too.
  for (double const r : {0.0, 0.2, 0.5}) {
    for (double const theta : {4.0, 20.0, 44.0}) {
      double const s = 0.4;
      auto const sine = [](double a) { return std::sin(restep::geometry::radians(a)); };
      CHECK(cusp_on_piece(r, plane(theta, s * sine(theta))) ==
            Approx(cusp_on_piece(r, plane(90 - theta, s * sine(90 - theta)))).epsilon(1e-10));
      CHECK(cusp_on_piece(r, convex(2, r, theta, theta + 9)) ==
            Approx(cusp_on_piece(r, convex(2, r, 81 - theta, 90 - theta))).epsilon(1e-10));
      CHECK(cusp_on_piece(r, concave(2, r, theta + 9, theta)) ==
            Approx(cusp_on_piece(r, concave(2, r, 90 - theta, 81 - theta))).epsilon(1e-10));
    }
  }
}

TEST_CASE("a rounding error of a level moves cusp and valley alike") {
  // A 60 degree plane, both levels 0.4 um off along the normal: same peak to valley, cusp 0.4 um higher.
  Piece const piece = plane(60, 0.2);
  Meridian const m = meridian({piece});
  Tool const tool = end_mill(0.5);
  Vec2 const off = 0.0004 * normal(60);
  double const exact = cusp_height(tool, m, piece.from, piece.to);
  CHECK(cusp_peak_to_valley(tool, m, piece.from, piece.to) == Approx(exact).epsilon(1e-12));
  CHECK(cusp_peak_to_valley(tool, m, piece.from + off, piece.to + off) == Approx(exact).epsilon(1e-9));
  CHECK(cusp_height(tool, m, piece.from + off, piece.to + off) == Approx(exact + 0.0004).epsilon(1e-9));
}

TEST_CASE("a corner radius 0.1 larger than programmed leaves 0.0414 at 45 degrees") {
  // Case 32: (sin theta + cos theta - 1) dr.
  double const r = 0.5, error = 0.1, radius = 3;
  Meridian const m = meridian({plane(45, 1)});
  Vec2 const tip = m.at(0.7), n = normal(45);
  double const flat = radius - r - error;
  // The contact of the wrong tool, from its tip, then in the frame of the right one (a further out).
  Vec2 const contact = tip + Vec2{-flat - (r + error) * n.x, (r + error) * (1 - n.y)};
  CHECK_THAT(m.height_above_surface(contact + Vec2{radius - r, 0}, r), WithinAbs(0.0414214, 5e-8));
}
