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
  survey.add(step_of(move(PathKind::line, {0, 0, 1}, {5, 0, 2}), 2));
  CHECK(survey.highest_cut == 2);
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
