#include "steps.hpp"
#include "transform/control_lines.hpp"
#include "transform/replace_words.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::Carried;
using motion::Comment;
using motion::ControlWord;
using motion::Coolant;
using motion::CoolantKind;
using motion::Stop;
using motion::StopKind;

namespace {

ControlWord remark(std::string text) {
  return {Comment{}, std::move(text)};
}

Program whole_program() {
  Program program;
  program.at = {0, 0, 9};
  program(motion::Layout{motion::LayoutKind::percent})(
      motion::Layout{motion::LayoutKind::program_number, 12});
  program.block({motion::ToolSelect{3}, motion::ToolChange{3}});
  program.rapid(1, 2, 5)(Stop{StopKind::program}).rapid(4, 4, 4)(Stop{StopKind::end_rewind});
  return program;
}

} // namespace

TEST_CASE("a word is said by the control's name for it, and left out where it has none", "[replace-words]") {
  Bench bench;
  bench.context.habits.replace = {{"M8", {{Coolant{CoolantKind::mist}}}}, {"M52", {}}};
  Program program;
  program(Coolant{CoolantKind::flood})(Carried{"M52"})(Carried{"M53"})(Coolant{CoolantKind::off});
  auto const once = run(make_replace_words, program.steps, bench.context);
  CHECK(words(once) == "M7 | ? | M9");
  CHECK(std::get<Carried>(once[1].event).text == "M53");
  CHECK(once[0].generated);
  CHECK(bench.edits.made() == 2);
  CHECK(same_stream(run(make_replace_words, once, bench.context), once));
}

TEST_CASE("words with unknown motion are never replaced", "[replace-words]") {
  Bench bench;
  bench.context.habits.replace = {{"M52", {}}};
  Program program;
  program(Carried{"M52", true});
  CHECK(same_stream(run(make_replace_words, program.steps, bench.context), program.steps));
}

TEST_CASE("the control's own lines stand where it wants them, with their values", "[control-lines]") {
  Bench bench;
  bench.machine.name = "bench-mill";
  cutter::Tool ball = *cutter::parse_tool("ball 2");
  ball.number = 3;
  bench.tools.add(ball);
  bench.context.program_name = "yoke.nc";
  auto& habits = bench.context.habits;
  habits.head = {remark("{program} for {machine}")};
  habits.before_tool_change = {remark("before {tool}")};
  habits.after_tool_change = {remark("{tool} {tool_text}")};
  habits.before_stop = {{Coolant{CoolantKind::off}}};
  habits.end = {remark("bye")};
  auto const out = run(make_control_lines, whole_program().steps, bench.context);
  CHECK(words(out) == "layout | layout | (yoke.nc for bench-mill) | (before T3) | T3 | M6 | (T3 ball 2) | "
                      "G0 X1Y2Z5 | M9 | M0 | G0 X4Y4Z4 | (bye) | M30");
  CHECK(bench.edits.made() == 5);
}

TEST_CASE("a value cannot end the remark it stands in", "[control-lines]") {
  Bench bench;
  bench.context.program_name = "a) G0 Z-50 (b.nc";
  bench.context.habits.head = {remark("{program}")};
  auto const out = run(make_control_lines, whole_program().steps, bench.context);
  CHECK(std::get<Comment>(out[2].event).text == "a  G0 Z-50  b.nc");
}

TEST_CASE("a control without lines of its own changes nothing", "[control-lines]") {
  Bench bench;
  auto const program = whole_program();
  CHECK(same_stream(run(make_control_lines, program.steps, bench.context), program.steps));
  CHECK(bench.edits.made() == 0);
}
