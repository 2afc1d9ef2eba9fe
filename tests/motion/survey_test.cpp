#include "motion/arc.hpp"
#include "motion/survey.hpp"

#include <catch2/catch.hpp>

using namespace restep::motion;

namespace {

Step step_of(Event const& event, std::uint32_t line) {
  Step step;
  step.event = event;
  step.place.line = line;
  return step;
}
Motion move(PathKind path, Vec3 from, Vec3 to, Vec3 centre = {}) {
  Motion motion;
  motion.path = path;
  motion.from = from;
  motion.to = to;
  motion.centre = centre;
  return motion;
}

} // namespace

TEST_CASE("A survey knows how far cuts and rapids reach, and which line reaches furthest") {
  Survey survey;
  survey.add(step_of(move(PathKind::rapid, unknown_position, {0, 0, 50}), 3));
  survey.add(step_of(move(PathKind::line, {0, 0, 50}, {10, 0, -1}), 4));
  survey.add(step_of(move(PathKind::arc_ccw, {10, 0, -1}, {-10, 0, -1}, {0, 0, -1}), 5));
  CHECK(survey.rapids.high == Vec3{0, 0, 50});
  CHECK(survey.rapids.high_line[2] == 3);
  CHECK(survey.cutting.low == Vec3{-10, 0, -1});
  CHECK(survey.cutting.high == Vec3{10, 10, 50});
  CHECK(survey.cutting.high_line[1] == 5);
  CHECK(survey.cutting.low_line[2] == 4);
  CHECK(survey.motions == 3);
  CHECK(survey.blocks == 3);
}

TEST_CASE("The highest cut is the highest feed motion that goes sideways") {
  Survey survey;
  survey.add(step_of(move(PathKind::line, {0, 0, 50}, {0, 0, 1}), 1));
  survey.add(step_of(move(PathKind::line, {0, 0, 1}, {5, 0, 1}), 2));
  CHECK(survey.highest_cut == 1);
}

TEST_CASE("A ramp counts with its lower end: it begins in the air") {
  Survey survey;
  survey.add(step_of(move(PathKind::line, {0, 0, 25}, {5, 0, -1}), 1));
  survey.add(step_of(move(PathKind::arc_ccw, {5, 0, -1}, {5, 0, 3}, {0, 0, -1}), 2));
  CHECK(survey.highest_cut == -1);
}

TEST_CASE("An arc that rises above both of its ends counts with its crest") {
  Survey survey;
  Motion dome = move(PathKind::arc_cw, {3, 0, 0}, {-3, 0, 0}, {0, 0, 0});
  dome.plane = Plane::zx; // G18: from Z to X is counter-clockwise
  dome.path = PathKind::arc_cw;
  bool const over = bounds(dome).high.z > 1;
  if (!over) dome.path = PathKind::arc_ccw;
  survey.add(step_of(dome, 1));
  CHECK(survey.highest_cut == Approx(3));
}

TEST_CASE("The planes at which a program travels are those of its level sideways rapids above the cut") {
  Survey survey;
  survey.add(step_of(move(PathKind::rapid, {0, 0, 2}, {9, 0, 2}), 1));
  survey.add(step_of(move(PathKind::rapid, {9, 0, 2}, {9, 0, 15}), 2));
  survey.add(step_of(move(PathKind::rapid, {9, 0, 15}, {0, 0, 8}), 3));
  survey.add(step_of(move(PathKind::rapid, {0, 0, 15}, {4, 0, 15}), 4));
  CHECK(survey.rapid_planes == std::vector<double>{2, 15});
  CHECK(survey.lowest_plane(2) == 2);
  CHECK(survey.lowest_plane(2.1) == 15);
  CHECK_FALSE(is_known(survey.lowest_plane(20)));
  survey.add(step_of(move(PathKind::line, {0, 0, 4}, {4, 0, 4}), 5));
  CHECK(survey.rapid_planes == std::vector<double>{15});
}

TEST_CASE("Of very many planes the lowest and the highest are kept") {
  Survey survey;
  for (int z = 200; z > 0; --z)
    survey.add(step_of(move(PathKind::rapid, {0, 0, z + 0.0}, {1, 0, z + 0.0}), 1));
  CHECK(survey.rapid_planes.size() == 64);
  CHECK(survey.rapid_planes.front() == 1);
  CHECK(survey.rapid_planes.back() == 200);
}

TEST_CASE("A hole reaches to its bottom as a cut and to its clear height as a rapid") {
  Survey survey;
  Cycle cycle;
  cycle.from = {0, 0, 8};
  cycle.hole = {4, 5, -12};
  cycle.retract = 2;
  cycle.clear = 8;
  survey.add(step_of(cycle, 7));
  CHECK(survey.cutting.low == Vec3{4, 5, -12});
  CHECK(survey.cutting.high.z == 2);
  CHECK(survey.rapids.high.z == 8);
  CHECK(survey.cutting.low_line[2] == 7);
}

TEST_CASE("Tools are listed in the order of their first use") {
  Survey survey;
  for (int const tool : {7, 2, 7, 1})
    survey.add(step_of(ToolChange{tool}, 1));
  CHECK(survey.tools == std::vector<int>{7, 2, 1});
}

TEST_CASE("A program ends with M2 or M30, not with a stop") {
  Survey survey;
  survey.add(step_of(Stop{StopKind::program}, 1));
  CHECK_FALSE(survey.ends);
  survey.add(step_of(Stop{StopKind::end_rewind}, 2));
  CHECK(survey.ends);
}

TEST_CASE("Steps of one block count as one block") {
  Survey survey;
  auto step = step_of(SpindleSpeed{900}, 1);
  step.last_in_block = false;
  survey.add(step);
  step.first_in_block = false;
  survey.add(step);
  CHECK(survey.blocks == 1);
}
