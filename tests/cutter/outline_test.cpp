// The closed-form cusp against a route that knows none of its cases: two tool outlines as polygons with very
// fine corner arcs, cut from a block by Boost.Geometry; the cusp is the highest point of what is left between
// the two contacts.

#include "cutter/cusp.hpp"
#include "shapes.hpp"

#include <boost/geometry.hpp>
#include <boost/geometry/geometries/point_xy.hpp>
#include <boost/geometry/geometries/polygon.hpp>
#include <catch2/catch.hpp>

#include <algorithm>
#include <numbers>
#include <random>

using namespace restep::cutter;
using namespace restep::cutter::shapes;

namespace bg = boost::geometry;

namespace {

using Point = bg::model::d2::point_xy<double>;
using Polygon = bg::model::polygon<Point>;
using Polygons = bg::model::multi_polygon<Polygon>;

/// Half outline of a tool: its corner-arc centre at c, reaching far to the right and up.
Polygon outline(double r, Vec2 c) {
  constexpr int steps = 4000;
  Polygon polygon;
  auto& ring = polygon.outer();
  constexpr double far = 100;
  ring.emplace_back(c.x - r, c.y + far);
  ring.emplace_back(c.x - r, c.y);
  for (int i = 1; i <= steps && r > 0; ++i) {
    double const a = i * std::numbers::pi / 2 / steps;
    ring.emplace_back(c.x - r * std::cos(a), c.y - r * std::sin(a));
  }
  ring.emplace_back(c.x + far, c.y - r);
  ring.emplace_back(c.x + far, c.y + far);
  bg::correct(polygon);
  return polygon;
}

/// Highest point, by the given height, of the material between the contacts that the two tools leave.
template <typename Height>
double left_standing(double r, Vec2 upper, Vec2 lower, Vec2 contact_upper, Vec2 contact_lower,
                     Height height) {
  // The block: everything left of the lower and below the upper tool that the surface could ever reach; its
  // far corners lie deep in the material, where the height is negative.
  double const top = std::max(contact_upper.y, upper.y), right = std::max(contact_lower.x, lower.x);
  Polygon block;
  bg::append(block.outer(), Point(contact_upper.x, contact_lower.y));
  bg::append(block.outer(), Point(contact_upper.x, top));
  bg::append(block.outer(), Point(right, top));
  bg::append(block.outer(), Point(right, contact_lower.y));
  bg::correct(block);
  Polygons once, twice;
  bg::difference(block, outline(r, upper), once);
  bg::difference(once, outline(r, lower), twice);
  double highest = 0;
  for (Polygon const& rest : twice)
    for (Point const& p : rest.outer()) {
      Vec2 const at{p.x(), p.y()};
      if (at.x <= contact_lower.x + 1e-12 && at.y <= contact_upper.y + 1e-12)
        highest = std::max(highest, height(at));
    }
  return highest;
}

constexpr double agreement = 0.05e-3; // mm

} // namespace

TEST_CASE("on random planes the cusp is the highest point of what two outlines leave") {
  std::mt19937 random(20240511);
  std::uniform_real_distribution<double> unit(0, 1);
  for (int i = 0; i < 150; ++i) {
    double const theta = 3 + 84 * unit(random), r = i % 5 == 0 ? 0 : 0.05 + 1.5 * unit(random);
    double const s = 0.02 + 0.8 * unit(random);
    Piece const piece = plane(theta, s * std::sin(restep::geometry::radians(theta)));
    Vec2 const n = normal(theta), up{0, r};
    Vec2 const c1 = piece.from + up, c2 = piece.to + up;
    double const expected = cusp_height(end_mill(r, 8), meridian({piece}), piece.from, piece.to);
    double const found = left_standing(r, c1, c2, c1 - r * n, c2 - r * n,
                                       [&](Vec2 p) { return restep::geometry::dot(p - (c1 - r * n), n); });
    INFO("theta " << theta << " r " << r << " s " << s);
    CHECK(std::abs(found - expected) < agreement);
  }
}

TEST_CASE("on random rounds and fillets the cusp is the highest point of what two outlines leave") {
  std::mt19937 random(20240512);
  std::uniform_real_distribution<double> unit(0, 1);
  for (int i = 0; i < 150; ++i) {
    bool const is_convex = i % 2 == 0;
    double const r = i % 5 == 0 ? 0 : 0.05 + unit(random), R = r + 0.3 + 3 * unit(random);
    double const turn = 2 + 20 * unit(random), from = (90 - turn) * unit(random);
    Piece const piece = is_convex ? convex(R, r, from, from + turn) : concave(R, r, from + turn, from);
    Vec2 const up{0, r}, n1 = normal(is_convex ? from : from + turn),
                         n2 = normal(is_convex ? from + turn : from);
    Vec2 const c1 = piece.from + up, c2 = piece.to + up;
    double const expected = cusp_height(end_mill(r, 10), meridian({piece}), piece.from, piece.to);
    double const found = left_standing(r, c1, c2, c1 - r * n1, c2 - r * n2, [&](Vec2 p) {
      double const from_centre = restep::geometry::length(p); // the centre is the origin
      return is_convex ? from_centre - R : R - from_centre;
    });
    INFO((is_convex ? "round " : "fillet ") << R << " r " << r << " from " << from << " turn " << turn);
    CHECK(std::abs(found - expected) < agreement);
  }
}
