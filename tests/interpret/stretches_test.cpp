#include "motion/stretch.hpp"
#include "read_program.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>

#include <rapidcheck.h>

using namespace restep;
using property::draw;

namespace {

std::string number() {
  int const whole = draw(-1200, 1200);
  switch (draw(0, 6)) {
  case 0: return std::to_string(whole);
  case 1: return fmt::format("{}.", whole);
  case 2: return fmt::format("-.{}", draw(0, 99999));
  case 3: return fmt::format("{}.{:09}", whole, draw(0, 1'000'000'000));
  case 4: return fmt::format("+0{}.{:02}", std::abs(whole), draw(0, 100));
  default: return fmt::format("{}.{:04}", whole, draw(0, 10000));
  }
}

/// A line of plain cuts as posts write them, or now and then one that is none, or is wrong.
std::string any_line() {
  switch (draw(0, 700)) {
  case 0: return "G0 X" + number();
  case 1: return "G1 X" + number() + " F" + std::to_string(draw(1, 900));
  case 2: return "G91";
  case 3: return "G90";
  case 4: return "G20 F30";
  case 5: return "G21 F800";
  case 6: return "(a remark)";
  case 7: return "G2 X1 Y1 R500";
  case 8: return "X1 X2";
  case 9: return "X1e3";
  case 10: return "X99999999";
  case 11: return "X#1 Y[2+3]";
  case 12: return "/X5";
  case 13: return "";
  case 14: return "G68 R30";
  case 15: return "G69";
  case 16: return "G41 D1";
  case 17: return "G40";
  case 18: return "G01.5 X3";
  case 19: return "x4 y5";
  case 20: return "X1 (aside)";
  case 21: return "X1.2.3";
  case 22: return "X 7";
  default: break;
  }
  std::string line;
  if (draw(0, 8) == 0) line += fmt::format("N{} ", draw(1, 99999));
  if (draw(0, 8) == 0) line += draw(0, 2) == 0 ? "G01" : "G1 ";
  char const* const gap = draw(0, 2) == 0 ? " " : "";
  int const first = draw(0, 3);
  for (int axis = first; axis < 3; ++axis)
    if (axis == first || draw(0, 3) != 0)
      line += std::string(1, static_cast<char>('X' + axis)) + number() + gap;
  if (draw(0, 10) == 0) line += draw(0, 2) == 0 ? "F800" : "F800.0";
  if (draw(0, 12) == 0) line += "\t ";
  return line;
}

std::string any_program() {
  std::string program = "G21 G90 G94 G17\nG0 X0 Y0 Z0\nG1 Z-1 F800\n";
  int const lines = draw(1, 700);
  char const* const end = draw(0, 2) == 0 ? "\r\n" : "\n";
  for (int i = 0; i < lines; ++i)
    program += any_line() + (draw(0, 100) == 0 ? "\r" : end);
  return program + (draw(0, 2) == 0 ? "M30\n" : "X1.5 Y2.25");
}

std::string told(motion::Step const& step) {
  std::string text = fmt::format("line {} at {}+{} {}", step.place.line, step.place.offset, step.place.length,
                                 test::name_of(step.event));
  if (auto const* m = motion::motion_of(step))
    text += fmt::format(" {} {} {} to {} {} {} F{} path {} mode F{} G{}", m->from.x, m->from.y, m->from.z,
                        m->to.x, m->to.y, m->to.z, m->feed, static_cast<int>(m->path), step.modes.feed,
                        step.modes.motion);
  return text;
}

bool same_double(double a, double b) {
  return a == b || (a != a && b != b);
}

bool same(motion::Step const& a, motion::Step const& b) {
  auto const* m = motion::motion_of(a);
  auto const* n = motion::motion_of(b);
  bool events = a.event.index() == b.event.index();
  if (events && m != nullptr) {
    motion::Motion x = *m, y = *n;
    for (motion::Vec3 motion::Motion::*end :
         {&motion::Motion::from, &motion::Motion::to, &motion::Motion::centre})
      for (int axis = 0; axis < 3; ++axis) {
        events = events && same_double((x.*end)[axis], (y.*end)[axis]);
        (x.*end)[axis] = (y.*end)[axis] = 0;
      }
    events = events && x == y;
  }
  return events && a.place == b.place && a.modes == b.modes && a.first_in_block == b.first_in_block &&
         a.last_in_block == b.last_in_block && a.optional == b.optional && a.touched == b.touched &&
         a.generated == b.generated && a.passage == b.passage;
}

struct InStretches {
  std::vector<motion::Step> steps;
  std::size_t in_stretches = 0;
  std::vector<std::string> findings;
  motion::Vec3 position;
};

std::vector<std::string> told(text::Findings const& findings) {
  std::vector<std::string> list;
  for (auto const& finding : findings.all())
    list.push_back(fmt::format("{}:{} {}", finding.line, finding.column, finding.message));
  return list;
}

InStretches read_in_stretches(std::string const& program, interpret::ReadRules const& rules) {
  InStretches reading;
  text::Input input = text::Input::from_memory(program);
  text::Findings findings(1000);
  interpret::ProgramReader reader(input, rules, findings);
  motion::for_each(reader, [&](auto const& passing) {
    if constexpr (std::is_same_v<decltype(passing), motion::Stretch const&>)
      reading.in_stretches += passing.size;
    motion::for_each_step(passing, [&](motion::Step const& step) { reading.steps.push_back(step); });
    return true;
  });
  reading.findings = told(findings);
  reading.position = reader.position();
  return reading;
}

} // namespace

TEST_CASE("a program read in stretches gives the steps and the messages that it gives block by block",
          "[interpret]") {
  std::size_t in_stretches = 0;
  CHECK(property::holds_often(600, [&] {
    std::string const program = any_program();
    interpret::ReadRules rules;
    rules.count_without_point = draw(0, 4) == 0;
    rules.strict_layout = draw(0, 8) == 0;
    auto const blocks = test::read(program, rules);
    auto const stretches = read_in_stretches(program, rules);
    in_stretches += stretches.in_stretches;
    RC_ASSERT(stretches.findings == told(blocks.findings));
    RC_ASSERT(stretches.steps.size() == blocks.steps.size());
    for (std::size_t i = 0; i < blocks.steps.size(); ++i)
      if (!same(stretches.steps[i], blocks.steps[i]))
        RC_FAIL(
            fmt::format("{}\n instead of {}\n{}", told(stretches.steps[i]), told(blocks.steps[i]), program));
    for (int axis = 0; axis < 3; ++axis)
      RC_ASSERT(same_double(stretches.position[axis], blocks.position[axis]));
  }));
  CHECK(in_stretches > 20'000);
}
