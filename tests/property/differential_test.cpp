// Two interpreters, written apart from each other, must agree on every plain program.
#include "interpret/reader.hpp"
#include "random_program.hpp"
#include "reference_interpreter.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::property;

namespace {

std::string joined(std::vector<std::string> const& lines) {
  std::string program;
  for (auto const& line : lines)
    program += line + "\n";
  return program;
}

std::array<double, 3> array_of(motion::Vec3 const& v) {
  return {v.x, v.y, v.z};
}

ReferenceMove told(motion::Motion const& move) {
  ReferenceMove told;
  told.code = static_cast<int>(move.path);
  told.from = array_of(move.from);
  told.to = array_of(move.to);
  told.feed = move.feed;
  if (motion::is_arc(move)) told.centre = array_of(move.centre);
  return told;
}

ReferenceMove told(motion::Cycle const& hole) {
  ReferenceMove told;
  told.code = hole.code / 10;
  told.from = array_of(hole.from);
  told.to = array_of(hole.hole);
  told.feed = hole.feed;
  told.retract = hole.retract;
  told.clear = hole.clear;
  return told;
}

std::vector<ReferenceMove> moves_of(std::string const& program) {
  interpret::ReadRules rules;
  rules.initial_level_sticky = false;
  auto input = text::Input::from_memory(program);
  text::Findings findings;
  interpret::ProgramReader reader(input, rules, findings);
  std::vector<ReferenceMove> moves;
  motion::Step step;
  while (reader.next(step)) {
    if (auto const* move = motion::motion_of(step)) moves.push_back(told(*move));
    if (auto const* hole = std::get_if<motion::Cycle>(&step.event)) moves.push_back(told(*hole));
  }
  for (auto const& finding : findings.all())
    if (finding.severity == text::Severity::error) RC_FAIL(text::format(finding, "program") + program);
  return moves;
}

/// Picometres against doubles; the centre of a flat arc by its radius is the worst.
bool near(double a, double b) {
  return (std::isnan(a) && std::isnan(b)) || std::abs(a - b) <= 1e-7;
}
bool near(std::array<double, 3> const& a, std::array<double, 3> const& b) {
  return near(a[0], b[0]) && near(a[1], b[1]) && near(a[2], b[2]);
}
bool same(ReferenceMove const& a, ReferenceMove const& b) {
  return a.code == b.code && near(a.from, b.from) && near(a.to, b.to) && near(a.centre, b.centre) &&
         near(a.feed, b.feed) && near(a.retract, b.retract) && near(a.clear, b.clear);
}

void check_one(std::string const& program) {
  auto const expected = ReferenceInterpreter().run(program);
  auto const found = moves_of(program);
  RC_ASSERT(found.size() == expected.size());
  for (std::size_t i = 0; i < found.size(); ++i)
    if (!same(found[i], expected[i])) RC_FAIL(fmt::format("move {} differs in\n{}", i, program));
}

} // namespace

TEST_CASE("Both interpreters agree on thousands of random programs in mm") {
  for (int round = 0; round < 25; ++round)
    REQUIRE(rc::check([] { check_one(joined(any_program())); }));
}

TEST_CASE("Both interpreters agree on random programs in inches") {
  for (int round = 0; round < 10; ++round)
    REQUIRE(rc::check([] {
      auto lines = any_program();
      lines[0] = "G20 G17 G90 G94";
      check_one(joined(lines));
    }));
}
