#include "report/toolpath.hpp"

#include "report/written_path.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>

using namespace restep;

namespace {

motion::Motion cut(motion::Vec3 from, motion::Vec3 to) {
  motion::Motion motion;
  motion.path = motion::PathKind::line;
  motion.from = from;
  motion.to = to;
  motion.feed = 300;
  return motion;
}

/// A turn of a wide spiral in short chords.
report::Toolpath spiral(std::size_t limit, int moves) {
  report::Toolpath path(limit);
  auto const at = [](int k) {
    double const angle = 0.02 * k;
    return motion::Vec3{30 * std::cos(angle), 30 * std::sin(angle), -0.0001 * k};
  };
  for (int k = 0; k < moves; ++k)
    path.add(cut(at(k), at(k + 1)), {static_cast<std::uint32_t>(k + 1), 0, {}}, false, 0, 0,
             [] { return std::string("G1"); });
  return path;
}

} // namespace

TEST_CASE("a path below its limit keeps every move", "[toolpath]") {
  auto const path = spiral(1000, 900);
  CHECK(path.stretches().size() == 900);
  CHECK(path.blocks().size() == 900);
  CHECK(path.tolerance() == 0);
}

TEST_CASE("a path beyond its limit stays bounded, joined and within its tolerance", "[toolpath]") {
  auto const path = spiral(1000, 20000);
  CHECK(path.motions() == 20000);
  REQUIRE(path.stretches().size() <= 1000);
  CHECK(path.blocks().size() <= 1001);
  CHECK(path.tolerance() > 0);
  for (std::size_t k = 1; k < path.stretches().size(); ++k)
    REQUIRE(path.stretches()[k].from == path.stretches()[k - 1].to);
  for (report::Stretch const& stretch : path.stretches()) {
    // The middle of a chord is where it is furthest from the circle.
    double const x = (stretch.from[0] + stretch.to[0]) / 2, y = (stretch.from[1] + stretch.to[1]) / 2;
    REQUIRE(30 - std::hypot(x, y) <= path.tolerance() + 0.002); // its own chords are 0.0015 off the circle
  }
}

TEST_CASE("an arc is drawn by chords that touch it", "[toolpath]") {
  motion::Motion arc;
  arc.path = motion::PathKind::arc_ccw;
  arc.from = arc.to = {10, 0, 0};
  arc.centre = {0, 0, 0};
  report::Toolpath path;
  path.add(arc, {1, 1, {}}, false, 0, 0, [] { return std::string(); });
  CHECK(path.stretches().size() > 20);
  CHECK(path.blocks().size() == 1);
  for (report::Stretch const& stretch : path.stretches())
    CHECK(std::hypot(stretch.to[0], stretch.to[1]) == Approx(10).margin(1e-5));
}

TEST_CASE("moves from or to an unknown place are not drawn", "[toolpath]") {
  report::Toolpath path;
  path.add(cut(motion::unknown_position, {0, 0, 0}), {1, 1, {}}, false, 0, 0, [] { return std::string(); });
  CHECK(path.stretches().empty());
}

TEST_CASE("the path of an output is read from its bytes and knows what was changed", "[toolpath]") {
  dialect::Dialect const dialect = *dialect::load_dialect("rs274ngc");
  report::Toolpath path;
  report::WrittenPath written(dialect, path);
  motion::Step step;
  step.place.line = 7;
  step.event = cut({0, 0, 0}, {5, 0, 0});
  written.meant(step);
  step.place.line = 9;
  step.touched = true;
  step.event = cut({5, 0, 0}, {5, 5, 0});
  written.meant(step);
  written.written("G21 G90 G94\nG0 X0 Y0 Z0\nG1 X5 F300\nG1 ");
  written.written("Y5\nM2\n");
  written.finish();
  REQUIRE(path.stretches().size() >= 2);
  report::Stretch const& last = path.stretches().back();
  CHECK(last.edited);
  CHECK(path.blocks()[last.block].text == "G1 Y5");
  CHECK(path.blocks()[last.block].line == 4);
  CHECK(path.blocks()[last.block].source == 9);
  report::Stretch const& before = path.stretches()[path.stretches().size() - 2];
  CHECK_FALSE(before.edited);
  CHECK(path.blocks()[before.block].source == 7);
}

TEST_CASE("motions that cannot be drawn are counted apart, and a cycle counts as one", "[toolpath]") {
  report::Toolpath path;
  motion::Motion motion;
  motion.from = motion::unknown_position;
  motion.to = {0, 0, 5};
  auto const text = [] { return std::string("G0"); };
  path.add(motion, {1, 1, {}}, false, 0, 0, text);
  CHECK(path.motions() == 1);
  CHECK(path.undrawn() == 1);
  motion.from = motion.to;
  motion.to = {0, 0, 0};
  path.add(motion, {2, 2, {}}, false, 0, 0, text);
  path.add(motion, {2, 2, {}}, false, 0, 0, text, false);
  CHECK(path.motions() == 2);
  CHECK(path.undrawn() == 1);
  CHECK(path.stretches().size() == 2);
}
