#include "motion/relay.hpp"
#include "motion/stretch.hpp"
#include "motion/stretch_queue.hpp"
#include "motion/survey.hpp"
#include "motion/time_model.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <rapidcheck.h>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>
#include <variant>
#include <vector>

using namespace restep;
using property::draw;

namespace {

/// Some number that hangs on i and on nothing else.
int draw_of(int i) {
  return static_cast<int>((static_cast<unsigned>(i) * 2654435761U) >> 20U);
}

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
  columns.renew(size);
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

TEST_CASE("a stretch that is kept stays as it was while its source goes on", "[motion]") {
  motion::StretchPool pool;
  motion::StretchQueue kept;
  std::vector<double> expected;
  std::size_t met = 0;
  for (int i = 0; i < 2000; ++i) {
    motion::StretchColumns& columns = pool.next();
    columns.set(0, {0, 0, 0});
    columns.set(1, {static_cast<double>(i), 0, 0});
    columns.renew(1);
    if (draw_of(i) % 3 != 0) {
      kept.push({&columns, 0, 1, {}, {}});
      expected.push_back(i);
    }
    for (int let_go = draw_of(i + 7) % 3; let_go > 0 && !kept.empty(); --let_go) {
      CHECK(kept.front().end().x == expected[met]);
      CHECK(kept.front().ways().length[0] == expected[met]);
      ++met;
      kept.pop();
    }
  }
  CHECK(met > 1000);
}

TEST_CASE("columns that nobody keeps are used again", "[motion]") {
  motion::StretchPool pool;
  motion::StretchColumns const* const first = &pool.next();
  for (int i = 0; i < 100; ++i)
    CHECK(&pool.next() == first);
}

TEST_CASE("what passes by is seen on the other thread in its order", "[motion]") {
  std::string seen, passed;
  auto const name = [](auto const& passing) {
    if constexpr (motion::is_written_text<decltype(passing)>)
      return std::string(passing) + ";";
    else if constexpr (std::is_same_v<std::remove_cvref_t<decltype(passing)>, motion::Stretch>)
      return "cuts to " + std::to_string(passing.end().x) + ";";
    else
      return "line " + std::to_string(passing.place.line) + ";";
  };
  motion::Relay relay([&](auto const& passing) { seen += name(passing); });
  auto const pass = [&](auto const& passing) {
    passed += name(passing);
    relay.tell(passing);
  };
  motion::StretchPool pool;
  for (int i = 0; i < 20000; ++i) {
    switch (draw_of(i) % 3) {
    case 0: {
      motion::Step step;
      step.place.line = static_cast<std::uint32_t>(i);
      pass(step);
      break;
    }
    case 1: {
      motion::StretchColumns& columns = pool.next();
      columns.set(0, {0, 0, 0});
      columns.set(1, {static_cast<double>(i), 0, 0});
      columns.renew(1);
      pass(motion::Stretch{&columns, 0, 1, {}, {}});
      break;
    }
    default: pass(std::string_view("N10 X1.")); break;
    }
  }
  relay.finish();
  bool const alike = seen == passed;
  CHECK(alike);
}

TEST_CASE("a watcher sees the text of a step that is gone by then", "[motion]") {
  std::string seen, told;
  motion::Relay relay([&](auto const& passing) {
    if constexpr (std::is_same_v<decltype(passing), motion::Step const&>) {
      if (auto const* comment = std::get_if<motion::Comment>(&passing.event)) seen += comment->text;
      if (auto const* carried = std::get_if<motion::Carried>(&passing.event)) seen += carried->text;
    }
  });
  std::string text;
  for (int i = 0; i < 5000; ++i) {
    text = "M" + std::to_string(draw_of(i)) + ";";
    motion::Step step;
    if (i % 2 == 0)
      step.event = motion::Comment{text, false};
    else
      step.event = motion::Carried{text, false};
    told += text;
    relay.tell(step);
    text.assign(text.size(), '?');
  }
  relay.finish();
  bool const alike = seen == told;
  CHECK(alike);
}

TEST_CASE("what a watcher throws is thrown where the passing ends", "[motion]") {
  int seen = 0;
  motion::Relay relay([&](auto const&) {
    if (++seen == 3) throw std::runtime_error("no more");
  });
  for (int i = 0; i < 100000; ++i)
    relay.tell(std::string_view("X1. Y2."));
  CHECK_THROWS_WITH(relay.finish(), "no more");
  CHECK(seen == 3);
}
