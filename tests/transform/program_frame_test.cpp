#include "steps.hpp"
#include "transform/program_frame.hpp"

#include <catch2/catch.hpp>

#include <string>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::Comment;
using motion::Coolant;
using motion::CoolantKind;
using motion::Layout;
using motion::LayoutKind;
using motion::Rotation;
using motion::SpindleTurn;
using motion::Stop;
using motion::StopKind;

namespace {

Program bell_yoke() {
  Program program;
  program(Layout{LayoutKind::percent})
      .block({Comment{"bell yoke"}, Layout{LayoutKind::program_number, 1000}});
  program(Comment{"second side"});
  program.at = {0, 0, 5};
  program(SpindleTurn{Rotation::clockwise})(Coolant{CoolantKind::flood}).feed(0, 0, -1, 100);
  program(Stop{StopKind::end_rewind})(Layout{LayoutKind::percent});
  return program;
}

std::size_t position_of(std::vector<Step> const& steps, std::string_view start) {
  for (std::size_t i = 0; i < steps.size(); ++i)
    if (auto const* comment = std::get_if<Comment>(&steps[i].event))
      if (comment->text.starts_with(start)) return i;
  return steps.size();
}

} // namespace

TEST_CASE("the cautions stand behind the percent line and the program number", "[program-frame]") {
  Bench bench;
  auto const out = run(make_program_frame, bell_yoke().steps, bench.context);
  CHECK(position_of(out, "rewritten by restep") == 3);
  CHECK(position_of(out, "second side") == 12);
  for (std::size_t i = 3; i < 12; ++i)
    CHECK(out[i].generated);
}

TEST_CASE("the cautions name what the program cannot know", "[program-frame]") {
  Bench bench;
  auto const out = run(make_program_frame, bell_yoke().steps, bench.context);
  std::string all;
  for (Step const& step : out)
    if (auto const* comment = std::get_if<Comment>(&step.event)) all += std::string(comment->text) + "\n";
  for (char const* needed : {"guards", "eye protection", "dry run", "single block", "clamps, vises",
                             "tool holders", "manual", "local rules", "trained"})
    CHECK(all.find(needed) != std::string::npos);
}

TEST_CASE("a caution fits into a short line and holds no comment mark", "[program-frame]") {
  Bench bench;
  for (Step const& step : run(make_program_frame, bell_yoke().steps, bench.context))
    if (auto const* comment = std::get_if<Comment>(&step.event)) {
      CHECK(comment->text.size() <= 70);
      CHECK(comment->text.find_first_of("();") == std::string_view::npos);
    }
}

TEST_CASE("framing a program twice changes nothing more", "[program-frame][law]") {
  Bench bench;
  auto const once = run(make_program_frame, bell_yoke().steps, bench.context);
  CHECK(same_stream(run(make_program_frame, once, bench.context), once));
}

TEST_CASE("cautions stored in capitals are recognised", "[program-frame]") {
  Bench bench;
  Program program;
  program(Comment{" REWRITTEN BY RESTEP: CHECK BEFORE RUNNING"})(Stop{StopKind::end});
  CHECK(run(make_program_frame, program.steps, bench.context).size() == 2);
}

TEST_CASE("without a reason there are no cautions", "[program-frame]") {
  Bench bench;
  bench.context.add_cautions = false;
  auto const out = run(make_program_frame, bell_yoke().steps, bench.context);
  CHECK(position_of(out, "rewritten") == out.size());
}

TEST_CASE("spindle and coolant are off before the program ends", "[program-frame]") {
  Bench bench;
  bench.context.add_cautions = false;
  CHECK(words(run(make_program_frame, bell_yoke().steps, bench.context)) ==
        "layout | (bell yoke) | layout | (second side) | M3 | M8 | G1 X0Y0Z-1F100 | M5 | M9 | M30 | layout");
  REQUIRE(bench.edits.all().size() == 1);
  CHECK(bench.edits.all()[0].why == "spindle and coolant off before the end of the program");
}

TEST_CASE("what is off already is not switched off again", "[program-frame]") {
  Bench bench;
  bench.context.add_cautions = false;
  Program program;
  program(SpindleTurn{Rotation::clockwise})(Coolant{CoolantKind::mist});
  program.block({SpindleTurn{}, Coolant{CoolantKind::off}, Stop{StopKind::end}});
  CHECK(same_stream(run(make_program_frame, program.steps, bench.context), program.steps));
  CHECK(bench.edits.made() == 0);
}

TEST_CASE("a program without an end is left without one and gets a note", "[program-frame]") {
  Bench bench;
  bench.context.add_cautions = false;
  Program program;
  program(SpindleTurn{Rotation::clockwise});
  CHECK(same_stream(run(make_program_frame, program.steps, bench.context), program.steps));
  CHECK(bench.found("no-program-end"));
}

namespace {

namespace word = motion::state_word;

/// G21 G90 / T1 M6 / G0 X5
Program states_little() {
  Program program;
  program(Layout{LayoutKind::modes});
  program.block({motion::ToolSelect{1}, motion::ToolChange{1}});
  program.rapid(5, 0, 5);
  return program;
}

/// The words of the state block that was put in; 0 when there is none.
unsigned put_in(std::vector<Step> const& steps) {
  for (Step const& step : steps)
    if (auto const* layout = std::get_if<Layout>(&step.event))
      if (layout->kind == LayoutKind::state) return static_cast<unsigned>(layout->number);
  return 0;
}

} // namespace

TEST_CASE("the head gets the words of state that the program lacks and the control has", "[program-frame]") {
  Bench bench;
  bench.survey.stated = word::units | word::distance;
  CHECK(put_in(run(make_program_frame, states_little().steps, bench.context)) ==
        (word::plane | word::feed_mode | word::cycle | word::compensation));
  bench.context.abilities.state_words = word::units | word::distance | word::cycle;
  CHECK(put_in(run(make_program_frame, states_little().steps, bench.context)) == word::cycle);
}

TEST_CASE("the state stands before the first action, behind what the program says itself",
          "[program-frame]") {
  Bench bench;
  bench.survey.stated = word::all & ~word::compensation;
  auto const out = run(make_program_frame, states_little().steps, bench.context);
  std::size_t const behind = out.size() - 3 - 2; // T1 M6 in two steps, a rapid; the state block and its G40
  CHECK(std::holds_alternative<Layout>(out[behind].event));
  REQUIRE(std::holds_alternative<motion::Compensation>(out[behind + 1].event));
  CHECK(std::get<motion::Compensation>(out[behind + 1].event).side == motion::Side::off);
  CHECK(std::holds_alternative<motion::ToolSelect>(out[behind + 2].event));
  CHECK_FALSE(out[behind + 2].touched);
  CHECK(bench.edits.all().back().why ==
        "the program does not say G40 before its first motion: put at its head");
}

TEST_CASE("the state stands before the message that asks for the first tool", "[program-frame]") {
  Bench bench;
  bench.survey.stated = 0;
  Program program;
  program(Comment{"insert T1", true})(Stop{StopKind::program}).rapid(5, 0, 5);
  program.steps.front().generated = true;
  auto const out = run(make_program_frame, program.steps, bench.context);
  std::size_t const message = position_of(out, "insert T1");
  REQUIRE(message >= 2);
  CHECK(std::holds_alternative<motion::Compensation>(out[message - 1].event));
}

TEST_CASE("a program that says its whole state gets none of it again", "[program-frame]") {
  Bench bench;
  auto const out = run(make_program_frame, states_little().steps, bench.context);
  CHECK(put_in(out) == 0);
  CHECK(bench.edits.made() == 1); // the cautions
}

TEST_CASE("what is put at the head is executed whatever the block delete switch says", "[program-frame]") {
  Bench bench;
  bench.survey.stated = 0;
  Program program;
  program.rapid(5, 0, 5);
  program.steps.front().optional = true;
  for (Step const& step : run(make_program_frame, program.steps, bench.context))
    CHECK(step.optional != step.generated);
}
