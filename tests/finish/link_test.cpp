#include "finish/link.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <utility>
#include <vector>

using namespace restep;
using namespace restep::finish;
using motion::PathKind;

namespace {

// Round out of a contour, up, sideways to where the next one begins, down, and round into it: quarter circles
// of 1 mm below a side along X that moves outwards with the depth.
LinkSample arc_to_arc(double depth, double next_depth, double shift) {
  constexpr double out_per_mm = 0.2, x = 5;
  auto const station = [](double at_x, double down) {
    return Station{{at_x, -out_per_mm * down}, -down, out_per_mm * down, {1, 0}};
  };
  LinkSample sample{station(x, depth), station(x + shift, next_depth), {}};
  Vec3 at = geometry::at_height(sample.previous.at, sample.previous.z);
  auto const move = [&](PathKind path, Vec3 to, Vec3 centre = {}) {
    motion::Motion m;
    m.path = path;
    m.from = at;
    m.to = to;
    m.centre = centre;
    motion::Step step;
    step.event = m;
    sample.steps.push_back(step);
    at = to;
  };
  Vec2 const end = sample.previous.at, start = sample.next.at;
  double const low = sample.previous.z, next = sample.next.z;
  move(PathKind::arc_cw, {end.x + 1, end.y - 1, low}, {end.x, end.y - 1, low});
  move(PathKind::rapid, {at.x, at.y, 4});
  move(PathKind::rapid, {start.x - 1, start.y - 1, 4});
  move(PathKind::rapid, {at.x, at.y, next + 0.5});
  move(PathKind::line, {at.x, at.y, next});
  move(PathKind::arc_cw, {start.x, start.y, next}, {start.x, start.y - 1, next});
  return sample;
}

} // namespace

TEST_CASE("a lead-out arc belongs to the contour it leaves, however short the way between the arcs is",
          "[link]") {
  // At a constant stepdown the arc stands as far from the next contour as from its own on every level.
  std::vector<LinkSample> samples;
  for (int k = 1; k <= 6; ++k)
    samples.push_back(arc_to_arc(0.2 * k, 0.2 * (k + 1), 1.3));
  auto const law = LinkLaw::fit(samples, 0.0025);
  REQUIRE(law);
  // At half of it, between levels of its own.
  LinkSample const wanted = arc_to_arc(0.5, 0.6, 1.3);
  auto const made = law->make(wanted.previous, wanted.next);
  REQUIRE(made);
  REQUIRE(made->size() == wanted.steps.size());
  for (std::size_t i = 0; i < made->size(); ++i) {
    INFO(i);
    motion::Motion const& m = *motion::motion_of((*made)[i]);
    motion::Motion const& w = *motion::motion_of(wanted.steps[i]);
    CHECK(m.path == w.path);
    for (int axis = 0; axis < 3; ++axis)
      CHECK(m.to[axis] == Approx(w.to[axis]).margin(1e-9));
    if (!motion::is_arc(m)) continue;
    CHECK(m.centre.x == Approx(w.centre.x).margin(1e-9));
    CHECK(m.centre.y == Approx(w.centre.y).margin(1e-9));
  }
}

TEST_CASE(
    "a straight move of a link that is left out where it goes nowhere is put in where it goes somewhere",
    "[link]") {
  // Sideways by 0.1 mm, then down, from 0.4 mm on; above that the contours stand one above the other.
  auto const down = [](double depth, double next_depth) {
    auto const out = [](double d) { return d > 0.4 ? 0.5 * (d - 0.4) : 0.0; };
    LinkSample sample{{{3, out(depth)}, -depth, out(depth), {1, 0}},
                      {{3, out(next_depth)}, -next_depth, out(next_depth), {1, 0}},
                      {}};
    motion::Motion m;
    m.path = PathKind::line;
    m.from = m.to = geometry::at_height(sample.previous.at, -depth);
    m.feed = 400;
    motion::Step step;
    if (out(next_depth) > out(depth)) {
      m.to.y = out(next_depth);
      step.event = m;
      sample.steps.push_back(step);
    }
    m.from = m.to;
    m.to.z = -next_depth;
    m.feed = 150;
    step.event = m;
    sample.steps.push_back(step);
    return sample;
  };
  std::vector<LinkSample> samples;
  for (int k = 1; k <= 6; ++k)
    samples.push_back(down(0.2 * (k - 1), 0.2 * k));
  auto const law = LinkLaw::fit(samples, 0.0025);
  REQUIRE(law);
  for (auto const& [from, to] : {std::pair{0.1, 0.3}, {0.5, 0.55}}) {
    INFO(from << " to " << to);
    LinkSample const wanted = down(from, to);
    auto const made = law->make(wanted.previous, wanted.next);
    REQUIRE(made);
    REQUIRE(made->size() == 2);
    motion::Motion const& sideways = *motion::motion_of(made->front());
    CHECK(sideways.feed == 400);
    CHECK(sideways.to.x == 3);
    CHECK(sideways.to.y == Approx(wanted.next.at.y).margin(1e-9));
    CHECK(sideways.to.z == Approx(-from).margin(1e-9));
    motion::Motion const& plunge = *motion::motion_of(made->back());
    CHECK(plunge.feed == 150);
    CHECK(plunge.to.z == Approx(-to).margin(1e-9));
  }
}
