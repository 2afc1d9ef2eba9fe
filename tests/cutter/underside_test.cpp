#include "cutter/underside.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <limits>

/// The tool as a body of revolution. Closed forms: circle, torus section and cone by elementary geometry;
/// every swept height is checked against the least over a fine row of standing tools.

using namespace restep;
using cutter::Underside;

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

cutter::Tool tool(std::string_view words) {
  return cutter::parse_tool(words).value();
}

double by_steps(Underside const& shape, double aside, double from, double to, double tip, double rise) {
  double least = infinite;
  constexpr int steps = 400'000;
  for (int i = 0; i <= steps; ++i) {
    double const s = from + (to - from) * i / steps;
    least = std::min(least, tip + rise * s + shape.height(std::hypot(aside, s)));
  }
  return least;
}

} // namespace

TEST_CASE("the underside of a ball is the lower half of its sphere", "[cutter]") {
  Underside const ball(tool("ball 6"));
  CHECK(ball.height(0) == 0);
  CHECK(ball.height(1.5) == Approx(3 - std::sqrt(9 - 2.25)));
  CHECK(ball.height(3) == Approx(3));
  CHECK(ball.height(3.001) == infinite);
  CHECK(ball.slope(1.5) == Approx(1.5 / std::sqrt(9 - 2.25)));
}

TEST_CASE("the underside of a bull is flat up to its corner arc", "[cutter]") {
  Underside const bull(tool("bull 6 r0.5"));
  CHECK(bull.height(2.5) == 0);
  CHECK(bull.height(2.8) == Approx(0.5 - 0.4));
  CHECK(bull.height(3) == Approx(0.5));
}

TEST_CASE("the cone of a tapered tool goes on from its corner arc without a corner", "[cutter]") {
  cutter::Tool tapered = tool("ball 2");
  tapered.taper = 10;
  tapered.flute_length = 8;
  Underside const shape(tapered);
  double const touch = std::cos(10 * std::numbers::pi / 180);
  CHECK(shape.height(touch - 1e-9) == Approx(shape.height(touch + 1e-9)).margin(1e-7));
  CHECK(shape.slope(touch - 1e-7) == Approx(shape.slope(touch + 1e-7)).epsilon(1e-4));
  CHECK(shape.height(shape.reach()) == Approx(8));
  CHECK_FALSE(shape.ball());
}

TEST_CASE("a swept tool leaves what the lowest of its places on the way leaves", "[cutter]") {
  cutter::Tool tapered = tool("bull 4 r0.5");
  tapered.taper = 15;
  tapered.flute_length = 6;
  for (cutter::Tool const& one : {tool("ball 6"), tool("bull 6 r0.5"), tool("flat 6"), tapered}) {
    Underside const shape(one);
    for (double const rise : {0.0, 0.2, -1.3, 4.0})
      for (double const aside : {0.0, 0.7, 2.4})
        for (auto const& [from, to] : {std::pair{-1.0, 2.5}, {0.4, 0.9}, {-9.0, -2.0}}) {
          double const exact = shape.swept(aside, from, to, 0.25, rise);
          double const stepped = by_steps(shape, aside, from, to, 0.25, rise);
          INFO(cutter::describe(one) << " rise " << rise << " aside " << aside << " from " << from);
          if (stepped == infinite)
            CHECK(exact == infinite);
          else
            CHECK(exact == Approx(stepped).margin(2e-5 * (1 + std::abs(rise))));
          CHECK(exact <= stepped + 1e-12);
        }
  }
}
