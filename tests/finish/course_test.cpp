#include "finish/beside.hpp"
#include "finish/course.hpp"
#include "finish/move_left.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>

using namespace restep;
using namespace restep::finish;

namespace {

// A circle told in chords, counter clockwise, begun at an angle.
std::vector<Segment> chords(double radius, int count, double begin = 0) {
  std::vector<Segment> out;
  auto const at = [&](int i) {
    double const angle = begin + 2 * std::numbers::pi * i / count;
    return Vec2{radius * std::cos(angle), radius * std::sin(angle)};
  };
  for (int i = 0; i < count; ++i)
    out.push_back({.from = at(i), .to = at(i + 1)});
  return out;
}

// A square of lines with corner arcs, clockwise; radius 0: sharp corners.
std::vector<Segment> square(double half, double radius) {
  std::vector<Segment> out;
  Vec2 const ways[] = {{0, 1}, {1, 0}, {0, -1}, {-1, 0}};
  for (int i = 0; i < 4; ++i) {
    Vec2 const way = ways[i];
    Vec2 const out_of = left_normal(way); // a clockwise loop has its outside on the left
    Vec2 const from = half * out_of - (half - radius) * way;
    Vec2 const to = half * out_of + (half - radius) * way;
    out.push_back({.from = from, .to = to});
    if (radius > 0) {
      Vec2 const centre = to - radius * out_of;
      out.push_back({.arc = true, .ccw = false, .from = to, .to = centre + radius * way, .centre = centre});
    }
  }
  return out;
}

} // namespace

TEST_CASE("the distance to a circle of chords does not depend on where its vertices are", "[finish]") {
  auto const circle = chords(4, 100);
  Course const course(circle, true, 1);
  // The chords leave the circle by 4 (1 - cos(pi / 100)) = 1.97 um.
  for (int i = 0; i < 1000; ++i) {
    double const angle = 2 * std::numbers::pi * i / 1000;
    Vec2 const p{4.1 * std::cos(angle), 4.1 * std::sin(angle)};
    auto const foot = course.nearest(p, {-std::sin(angle), std::cos(angle)});
    REQUIRE(foot);
    CHECK(foot->left == Approx(-0.1).margin(5e-5));
  }
  CHECK(largest_sagitta(circle, true) == Approx(4 * (1 - std::cos(std::numbers::pi / 100))).epsilon(0.01));
}

TEST_CASE("a line between two curves of fine chords stays a line", "[finish]") {
  // Half circles of 200 chords joined by lines of 3 mm: the turns at the joints are small.
  std::vector<Segment> course = chords(2, 400);
  for (std::size_t j = 200; j < 400; ++j) {
    course[j].from.y -= 3;
    course[j].to.y -= 3;
  }
  course.insert(course.begin() + 200, {.from = course[199].to, .to = course[200].from});
  course.push_back({.from = course.back().to, .to = course.front().from});
  Course const told(course, true, 1);
  auto const foot = told.nearest({2.1, -1.5}, {0, 1});
  REQUIRE(foot);
  CHECK(foot->left == Approx(-0.1).margin(1e-9));
  CHECK(largest_sagitta(course, true) == Approx(2 * (1 - std::cos(std::numbers::pi / 400))).epsilon(0.02));
}

TEST_CASE("a course is not found from the other side of a thin rib", "[finish]") {
  std::vector<Segment> const rib = {{.from = {0, 0}, .to = {10, 0}}, {.from = {10, 0.1}, .to = {0, 0.1}}};
  Course const course(rib, false, 1);
  auto const foot = course.nearest({5, 0.08}, {1, 0});
  REQUIRE(foot);
  CHECK(foot->element == 0);
  CHECK(foot->left == Approx(0.08));
}

TEST_CASE("a circle of chords moves to a circle, whichever way", "[finish]") {
  auto const circle = chords(4, 100);
  for (double const shift : {-0.3, 0.3}) {
    auto const moved = move_left(circle, true, shift, 1e-4);
    REQUIRE(moved);
    REQUIRE(moved->segments.size() == circle.size());
    for (Segment const& s : moved->segments)
      CHECK(length(s.from) == Approx(4 - shift).margin(1e-9));
  }
}

TEST_CASE("corner arcs that vanish leave the corner of the lines", "[finish]") {
  // Moved inwards, to the right, by more than the corners' radius.
  auto const moved = move_left(square(5, 0.2), true, -0.3, 1e-4);
  REQUIRE(moved);
  REQUIRE(moved->segments.size() == 4);
  for (Segment const& s : moved->segments) {
    CHECK(std::abs(s.from.x) == Approx(4.7));
    CHECK(std::abs(s.from.y) == Approx(4.7));
  }
}

TEST_CASE("moving there and back is where it was as long as nothing vanishes", "[finish]") {
  for (auto const& outline : {square(5, 0.4), square(5, 0), chords(3, 64)}) {
    auto const there = move_left(outline, true, -0.25, 1e-4);
    REQUIRE(there);
    auto const back = move_left(there->segments, true, 0.25, 1e-4);
    REQUIRE(back);
    REQUIRE(back->segments.size() == outline.size());
    for (std::size_t i = 0; i < outline.size(); ++i)
      CHECK(distance(back->segments[i].from, outline[i].from) < 1e-9);
  }
}

TEST_CASE("contours run beside each other whatever they are made of", "[finish]") {
  Contour a;
  a.closed = true;
  a.segments = chords(4, 100);
  Contour b = a;
  b.segments = chords(4.2, 117, 0.3);
  bool backwards = true;
  CHECK(run_beside(a, b, 1, backwards));
  CHECK_FALSE(backwards);
  b.segments = chords(6, 100);
  CHECK_FALSE(run_beside(a, b, 1, backwards));
}

TEST_CASE("pieces of one line do not stand one above the other, lines beside each other do", "[finish]") {
  for (double const angle : {0.0, 30.0, 45.0, 90.0, 200.0})
    for (double const bend : {0.0, 0.02}) {
      INFO(angle << " degrees, bent by " << bend);
      Vec2 const along{std::cos(geometry::radians(angle)), std::sin(geometry::radians(angle))};
      Vec2 const across = left_normal(along);
      auto const piece = [&](double from, double to, double off) {
        Contour contour;
        for (int i = 0; i < 4; ++i) {
          Segment s;
          auto const at = [&](int k) {
            return (from + (to - from) * k / 4) * along + (off + (k % 2 == 0 ? 0 : bend)) * across;
          };
          s.from = at(i);
          s.to = at(i + 1);
          contour.segments.push_back(s);
        }
        return contour;
      };
      Contour const line = piece(0, 1, 0);
      CHECK_FALSE(one_above_other(line, piece(1.05, 2, 0)));
      CHECK_FALSE(one_above_other(piece(1.05, 1.3, 0), line));
      CHECK_FALSE(one_above_other(line, piece(0.7, 1.7, 0.1)));
      CHECK(one_above_other(line, piece(0.3, 1.3, 0.1)));
      CHECK(one_above_other(line, piece(0, 1, 0.4)));
      CHECK(one_above_other(line, piece(1, 0, -0.4)));
      CHECK_FALSE(one_above_other(line, piece(0, 1, 0.6)));
    }
}

TEST_CASE("a place that is known nearly is found as if it were not known", "[finish][law]") {
  auto const circle = chords(4, 257);
  Course const course(circle, true, 1);
  for (int i = 0; i < 500; ++i) {
    double const angle = 2 * std::numbers::pi * i / 500;
    Vec2 const p{4.01 * std::cos(angle), 4.01 * std::sin(angle)};
    Vec2 const direction{-std::sin(angle), std::cos(angle)};
    auto const foot = course.nearest(p, direction);
    REQUIRE(foot);
    // A good hint, one on the other side of the circle, and one a few elements off, across the first vertex.
    for (std::size_t const off : {0, 1, 5, 128, 254}) {
      auto const near = course.nearest_about((foot->element + off) % 257, p, direction, 0.02);
      REQUIRE(near);
      CHECK(near->left == Approx(foot->left).margin(1e-12));
    }
  }
}

TEST_CASE("beside a sharp corner a point's side is that of the corner", "[finish]") {
  // A wedge that turns by 150 degrees at the origin.
  std::vector<Segment> const wedge{{.from = {-5, 0}, .to = {0, 0}},
                                   {.from = {0, 0}, .to = {-5 * std::cos(0.5236), 5 * std::sin(0.5236)}}};
  Course const course(wedge, false, 2);
  for (double const angle : {-1.5, -1.0, 0.0, 0.5, 1.0}) {
    auto const foot = course.nearest(Vec2{std::cos(angle), std::sin(angle)});
    REQUIRE(foot);
    CHECK(foot->left == Approx(-1));
  }
}
