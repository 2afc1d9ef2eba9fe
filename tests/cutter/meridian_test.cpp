#include "cutter/meridian.hpp"
#include "shapes.hpp"

#include <catch2/catch.hpp>

using namespace restep::cutter;
using namespace restep::cutter::shapes;

TEST_CASE("the pieces' own ends are points of the meridian to the last digit") {
  Meridian const m = flange(1.5, 4, 3, 0.3);
  for (std::size_t i = 0; i < m.pieces().size(); ++i) {
    CHECK(m.at(m.starts()[i]) == m.pieces()[i].from);
    CHECK(restep::geometry::distance(m.at(m.starts()[i + 1]), m.pieces()[i].to) < 1e-14);
  }
  CHECK(m.at(m.length()) == m.pieces().back().to);
  CHECK(m.at(-1) == m.pieces().front().from);
  CHECK(m.at(m.length() + 1) == m.pieces().back().to);
}

TEST_CASE("a quarter round followed by a wall and a fillet has the length of its parts") {
  Meridian const m = flange(1.5, 4, 3, 0.3);
  double const quarter = std::numbers::pi / 2;
  CHECK(m.length() == Approx(quarter * 1.8 + 4 + quarter * 2.7));
}

TEST_CASE("the tangent is the direction in which the meridian goes on") {
  Meridian const m = flange(1.5, 4, 3, 0.3);
  for (double s = 0.01; s < m.length() - 0.01; s += 0.07) {
    Vec2 const along = (m.at(s + 1e-6) - m.at(s - 1e-6)) / 2e-6;
    CHECK(restep::geometry::distance(along, m.tangent(s)) < 2e-6);
  }
}

TEST_CASE("the point nearest to a point beside the meridian is the foot of its normal") {
  Meridian const m = flange(1.5, 4, 3, 0.3);
  for (double s = 0.01; s < m.length(); s += 0.07)
    for (double const off : {-0.2, 0.0, 0.2}) {
      Vec2 const p = m.at(s) + off * restep::geometry::left_normal(m.tangent(s));
      CHECK(m.nearest(p) == Approx(s).margin(1e-9));
      CHECK(m.signed_distance(p) == Approx(off).margin(1e-12));
      // The same place as seen from the surface: r is the distance from there to the corner-arc centre.
      CHECK(m.height_above_surface(p + Vec2{0, 0.3}, 0.3) == Approx(0.3 + off).margin(1e-12));
    }
}

TEST_CASE("beyond its ends the meridian goes on straight") {
  Meridian const m = meridian({plane(60, 2)});
  Vec2 const n = normal(60), t{n.y, -n.x};
  CHECK(m.signed_distance(m.at(0) - 3 * t + 0.1 * n) == Approx(0.1));
  CHECK(m.signed_distance(m.at(m.length()) + 3 * t - 0.1 * n) == Approx(-0.1));
}

TEST_CASE("in an inner corner the surface is the fillet that the tool itself leaves") {
  Meridian const m = meridian({line({0, 5}, {0, 0}), line({0, 0}, {5, 0})});
  double const r = 0.5;
  Vec2 const centre{0, r}; // of the corner arc at the joint
  CHECK(m.height_above_surface(centre - r * normal(45), r) == Approx(0).margin(1e-12));
  CHECK(m.height_above_surface(centre - (r + 0.1) * normal(30), r) == Approx(-0.1));
  CHECK(m.height_above_surface({-r, 3}, r) == Approx(0).margin(1e-12));
  CHECK(m.height_above_surface({3, 0}, r) == Approx(0).margin(1e-12));
}

TEST_CASE("the place a given drop below another lies that much deeper") {
  Meridian const m = flange(1.5, 4, 3, 0.3);
  for (double s = 0; s < m.length(); s += 0.13)
    for (double const drop : {1e-6, 0.01, 0.4, 3.0}) {
      double const e = m.reach(s, drop);
      CHECK(e >= s);
      if (e < m.length())
        CHECK(m.at(s).y - m.at(e).y == Approx(drop).margin(1e-9));
      else
        CHECK(m.at(s).y - m.at(e).y <= drop + 1e-12);
    }
  Meridian const step = meridian({line({0, 0}, {0, -1}), line({0, -1}, {2, -1}), line({2, -1}, {2, -2})});
  CHECK(step.reach(0, 1) == Approx(3)); // past the floor
  CHECK(step.reach(0, 0.5) == Approx(0.5));
}

TEST_CASE("the surfaces are named as the drawing names them") {
  double const r = 0.3;
  Piece const top = convex(1.5, r, 0, 60);
  Piece const chamfer = plane(60, 1, top.to);
  Piece const wall = line(chamfer.to, {chamfer.to.x, chamfer.to.y - 2});
  Piece const foot = concave(3, r, 90, 0, {wall.to.x + 3 - r, wall.to.y + r});
  Piece const floor = line(foot.to, {foot.to.x + 1, foot.to.y});
  auto const surfaces = meridian({top, chamfer, wall, foot, floor}).surfaces(r);
  REQUIRE(surfaces.size() == 5);
  CHECK(surfaces[0].kind == SurfaceKind::convex_round);
  CHECK(surfaces[0].radius == Approx(1.5));
  CHECK(surfaces[1].kind == SurfaceKind::plane);
  CHECK(surfaces[1].angle == Approx(30));
  CHECK(surfaces[2].kind == SurfaceKind::wall);
  CHECK(surfaces[2].angle == 0);
  CHECK(surfaces[3].kind == SurfaceKind::concave_fillet);
  CHECK(surfaces[3].radius == Approx(3));
  CHECK(surfaces[4].kind == SurfaceKind::floor);
  CHECK(surfaces[0].z_from == top.from.y);
  CHECK(surfaces[4].z_to == floor.to.y);
}

TEST_CASE("an arc of the corner radius itself goes about a sharp edge") {
  for (double const off : {-0.001, 0.0, 0.004}) {
    auto const surfaces = meridian({convex(off, 0.5, 0, 90)}).surfaces(0.5);
    CHECK(surfaces[0].kind == SurfaceKind::edge);
    CHECK(surfaces[0].radius == 0);
  }
  CHECK(meridian({convex(0.006, 0.5, 0, 90)}).surfaces(0.5)[0].kind == SurfaceKind::convex_round);
}

TEST_CASE("a meridian without pieces has no length and one place") {
  Meridian const m;
  CHECK(m.length() == 0);
  CHECK(m.at(3) == Vec2{});
  CHECK(m.nearest({1, 1}) == 0);
  CHECK(m.surfaces(0.5).empty());
}
