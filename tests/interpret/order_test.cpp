#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::order_of;
using test::read;

namespace {

motion::Layout layout_of(motion::Step const& step) {
  return std::get<motion::Layout>(step.event);
}

} // namespace

TEST_CASE("The steps of a block come in the standard's order of execution, however the words are written") {
  // NISTIR 6556, table 8
  auto const full = read("G0 X1 Y1 Z5\n"
                         "M0 X2 G1 G54 G43 H3 G61 M8 M3 M6 T4 S900 F100 G4 P1\n");
  CHECK(full.errors().empty());
  CHECK(order_of(full.steps, 2) ==
        "speed, tool, tool change, spindle, coolant, dwell, length offset, work offset, "
        "path control, motion, stop");
}

TEST_CASE("Overrides come after coolant and before the dwell") {
  auto const reading = read("G4 P0.5 M49 M7\n");
  CHECK(reading.errors().empty());
  CHECK(order_of(reading.steps, 1) == "coolant, override, dwell");
}

TEST_CASE("Compensation starts before the move in its block") {
  auto const reading = read("G0 X0 Y0\nG1 X5 F100 G41 D2\n");
  CHECK(order_of(reading.steps, 2) == "compensation, motion");
  CHECK(reading.last<motion::Motion>().compensated);
}

TEST_CASE("The first and the last step of a block are marked") {
  auto const reading = read("T1 M6\nG0 X1\n");
  REQUIRE(reading.steps.size() == 3);
  CHECK(reading.steps[0].first_in_block);
  CHECK_FALSE(reading.steps[0].last_in_block);
  CHECK_FALSE(reading.steps[1].first_in_block);
  CHECK(reading.steps[1].last_in_block);
  CHECK(reading.steps[2].first_in_block);
  CHECK(reading.steps[2].last_in_block);
}

TEST_CASE("Every step carries the place of its block and the modal state before it") {
  auto const reading = read("G21 G90\nG1 X1 F250\nX2\n");
  REQUIRE(reading.steps.size() == 3);
  CHECK(reading.steps[1].place == text::Place{8, 10, 2});
  CHECK(reading.steps[1].modes.motion == 800);
  CHECK(reading.steps[1].modes.feed == 0);
  CHECK(reading.steps[2].modes.motion == 10);
  CHECK(reading.steps[2].modes.feed == 250);
}

TEST_CASE("Every line gives at least one step") {
  auto const reading = read("%\n\nN10\nG21\nF100\nM30\n%\nleft over\n");
  REQUIRE(reading.steps.size() == 8);
  using enum motion::LayoutKind;
  CHECK(layout_of(reading.steps[0]).kind == percent);
  CHECK(layout_of(reading.steps[1]).kind == blank);
  CHECK(layout_of(reading.steps[2]).kind == blank);
  CHECK(layout_of(reading.steps[3]).kind == modes);
  CHECK(layout_of(reading.steps[4]).kind == modes);
  CHECK(std::holds_alternative<motion::Stop>(reading.steps[5].event));
  CHECK(layout_of(reading.steps[6]).kind == percent);
  CHECK(layout_of(reading.steps[7]).kind == after_end);
  for (std::size_t i = 0; i < reading.steps.size(); ++i)
    CHECK(reading.steps[i].place.line == i + 1);
}

TEST_CASE("A block with block delete is optional, or left out when the switch is on") {
  std::string_view const program = "G0 X1\n/G0 X2\nM30\n";
  auto const executed = read(program);
  REQUIRE(executed.steps.size() == 3);
  CHECK(executed.steps[1].optional);
  CHECK(executed.motions().back().to.x == 2);

  interpret::ReadRules rules;
  rules.block_delete = true;
  auto const skipped = read(program, rules);
  REQUIRE(skipped.steps.size() == 3);
  CHECK(layout_of(skipped.steps[1]).kind == motion::LayoutKind::deleted);
  CHECK(skipped.position.x == 1);
}

TEST_CASE("A program number becomes layout, before anything else of its block") {
  auto const reading = read("O1234\n");
  CHECK(reading.errors().empty());
  CHECK(reading.last<motion::Layout>() == motion::Layout{motion::LayoutKind::program_number, 1234});
}

TEST_CASE("Comments come first, and a message is told from a remark") {
  auto const reading =
      read("M3 (clock bezel) S500\n(MSG, fit the yoke)\n( m s g,turn the part)\nG0 X1 ; rapid\n");
  CHECK(reading.errors().empty());
  CHECK(order_of(reading.steps, 1) == "comment, speed, spindle");
  auto const comments = reading.all<motion::Comment>();
  REQUIRE(comments.size() == 4);
  CHECK(comments[0] == motion::Comment{"clock bezel", false});
  CHECK(comments[1] == motion::Comment{" fit the yoke", true});
  CHECK(comments[2] == motion::Comment{"turn the part", true});
  CHECK(comments[3] == motion::Comment{" rapid", false});
}

TEST_CASE("A reader of a growing input goes on when more has come") {
  auto input = text::Input::pipe("written");
  text::Findings findings;
  interpret::ReadRules const rules;
  interpret::ProgramReader reader(input, rules, findings);
  motion::Step step;
  CHECK_FALSE(reader.next(step));
  input.append("G0 X1\nG0 X");
  REQUIRE(reader.next(step));
  CHECK(motion::motion_of(step)->to.x == 1);
  CHECK_FALSE(reader.next(step));
  input.append("2\nM30\n");
  REQUIRE(reader.next(step));
  CHECK(motion::motion_of(step)->to.x == 2);
  REQUIRE(reader.next(step));
  CHECK(std::holds_alternative<motion::Stop>(step.event));
  CHECK_FALSE(reader.next(step));
  CHECK(findings.all().empty());
  input.close();
  CHECK_FALSE(reader.next(step));
  CHECK(findings.all().empty());
}

TEST_CASE("The missing end of a growing input is reported only when it is closed") {
  auto input = text::Input::pipe("written");
  text::Findings findings;
  interpret::ReadRules const rules;
  interpret::ProgramReader reader(input, rules, findings);
  motion::Step step;
  input.append("G0 X1\n");
  while (reader.next(step)) {
  }
  CHECK(findings.all().empty());
  input.close();
  CHECK_FALSE(reader.next(step));
  CHECK_FALSE(reader.next(step));
  REQUIRE(findings.all().size() == 1);
  CHECK(findings.all()[0].code == "no-program-end");
  CHECK(findings.all()[0].severity == text::Severity::warning);
}
