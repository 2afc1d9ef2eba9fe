#include "motion/stretch.hpp"
#include "motion/survey.hpp"
#include "motion/time_model.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <rapidcheck.h>
#include <vector>

using namespace restep;
using property::draw;

namespace {

/// A course of chords: bends, straight lines of many, stretches that stand still.
void fill(motion::StretchColumns& columns, std::size_t size) {
  motion::Vec3 at{1, 2, 3};
  columns.set(0, at);
  double turn = 0;
  int kind = 0;
  for (std::size_t i = 0; i < size; ++i) {
    if (draw(0, 20) == 0) kind = draw(0, 5);
    double const step = draw(1, 200) / 500.0;
    turn += kind == 0 ? 0 : draw(-100, 100) / 150.0;
    if (kind == 1) at = at + motion::Vec3{step * std::cos(turn), step * std::sin(turn), 0.1 * std::sin(turn)};
    if (kind == 2) at.x = -at.x;
    if (kind == 0 || kind == 4) at = at + motion::Vec3{0.25, 0, 0};
    columns.set(i + 1, at);
    columns.places[i] = {100 * i, 20, static_cast<std::uint32_t>(i + 7)};
  }
  columns.renew();
}

motion::Stretch any_stretch(motion::StretchColumns& columns) {
  auto const size = static_cast<std::size_t>(draw(1, static_cast<int>(motion::Stretch::longest) + 1));
  fill(columns, size);
  motion::Stretch stretch{&columns, 0, size, {}, {}};
  stretch.like.path = motion::PathKind::line;
  stretch.like.feed = draw(50, 6000);
  auto const from = static_cast<std::size_t>(draw(0, static_cast<int>(size)));
  return stretch.part(from, size - from);
}

} // namespace

TEST_CASE("a stretch takes the time that its cuts take one by one", "[motion]") {
  CHECK(property::holds_often(400, [] {
    motion::Machine machine;
    for (int axis = 0; axis < 3; ++axis)
      machine.acceleration[axis] = draw(0, 4) == 0 ? 0 : draw(50, 3000);
    machine.blocks_per_second = draw(0, 3) == 0 ? draw(50, 500) : 0;
    machine.corner_tolerance = draw(0, 5) == 0 ? 0 : 0.01;
    motion::TimeModel steps(machine), stretches(machine);
    for (int i = 0; i < 5; ++i) {
      motion::StretchColumns columns;
      motion::Stretch const stretch = any_stretch(columns);
      stretches.add(stretch);
      motion::for_each_step(stretch, [&](motion::Step const& step) { steps.add(step); });
      RC_ASSERT(std::abs(stretches.seconds() - steps.seconds()) <= 1e-9 * steps.seconds());
    }
  }));
}

TEST_CASE("a stretch reaches what its cuts reach one by one, and the same lines are told", "[motion]") {
  CHECK(property::holds_often(200, [] {
    motion::Survey steps, stretches;
    for (int i = 0; i < 4; ++i) {
      motion::StretchColumns columns;
      motion::Stretch const stretch = any_stretch(columns);
      stretches.add(stretch);
      motion::for_each_step(stretch, [&](motion::Step const& step) { steps.add(step); });
    }
    RC_ASSERT(steps.blocks == stretches.blocks);
    RC_ASSERT(steps.motions == stretches.motions);
    RC_ASSERT(steps.highest_cut == stretches.highest_cut);
    RC_ASSERT(steps.depths.front().low == stretches.depths.front().low);
    RC_ASSERT(steps.depths.front().line == stretches.depths.front().line);
    for (auto reach : {&motion::Survey::cutting, &motion::Survey::rapids}) {
      RC_ASSERT((steps.*reach).low == (stretches.*reach).low);
      RC_ASSERT((steps.*reach).high == (stretches.*reach).high);
      for (int axis = 0; axis < 3; ++axis) {
        RC_ASSERT((steps.*reach).low_line[axis] == (stretches.*reach).low_line[axis]);
        RC_ASSERT((steps.*reach).high_line[axis] == (stretches.*reach).high_line[axis]);
      }
    }
  }));
}
