#include "program.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <random>
#include <string>

using namespace restep;
using namespace restep::dialect_test;

namespace {

std::string with_line_ends(std::string const& program, std::mt19937& random, bool last) {
  static constexpr char const* ends[] = {"\n", "\r\n", "\r"};
  std::string text;
  std::uniform_int_distribution<std::size_t> pick(0, 2);
  for (char const c : program)
    c == '\n' ? text += ends[pick(random)] : text += c;
  if (!last)
    while (text.back() == '\n' || text.back() == '\r')
      text.pop_back();
  return text;
}

} // namespace

TEST_CASE("an untouched program comes out byte for byte", "[copy]") {
  std::mt19937 random(1);
  for (int round = 0; round < 40; ++round) {
    auto const program = random_program(random, {.blocks = 100, .line_numbers = round % 2 == 0});
    auto const written = rewrite(program);
    REQUIRE(written.text == program);
    REQUIRE(written.count.afresh == 0);
  }
}

TEST_CASE("line ends, a missing last one and a byte-order mark are copied too", "[copy]") {
  std::mt19937 random(2);
  for (int round = 0; round < 20; ++round) {
    auto program = with_line_ends(random_program(random, {.blocks = 30}), random, round % 2 == 0);
    if (round % 3 == 0) program = "\xEF\xBB\xBF" + program;
    REQUIRE(rewrite(program).text == program);
  }
}

TEST_CASE("blocks with parameters are copied as long as nothing before them was changed", "[copy]") {
  std::string const program = "G21 G90\n#1=5\nG0 X#1 Y[#1*2]\nG1 Z-1 F100\nM2\n";
  CHECK(rewrite(program).text == program);
}

TEST_CASE("a control without parameters gets their values, in its own programs too", "[copy]") {
  auto const own = shipped("small-firmware");
  CHECK(rewrite("G21 G90\n#1=5\nG0 X#1 Y[#1*2]\nG1 X[#1+1] F100\nX7\n#1=9 X#1\nX[#1]\nM2\n", own, own).text ==
        "G21 G90\nG0 X5 Y10\nG1 X6 F100\nX7\nX5\nX9\nM2\n");
}

TEST_CASE("a block whose value hangs on a parameter is written out behind a changed one", "[copy]") {
  std::string const program = "G21 G90\nG0 X0 Y0 Z5\n#1=5\nG1 X1 F100\nX#1\nY2\nM2\n";
  auto const written = rewrite(program, [](motion::Step& step, auto const&) {
    step.touched = step.place.line == 4;
    return true;
  });
  CHECK(written.text == "G21 G90\nG0 X0 Y0 Z5\n#1=5\nG1 X1 F100\nX5\nY2\nM2\n");
}

TEST_CASE("a program longer than one piece is copied whole", "[copy]") {
  std::mt19937 random(3);
  auto const program = random_program(random, {.blocks = 30'000});
  REQUIRE(program.size() > 600'000);
  CHECK(rewrite(program).text == program);
}

TEST_CASE("only the touched blocks are written afresh", "[copy]") {
  std::string const program =
      "G21 G90 G17\n(bell yoke)\nG0  X1.0  Y2.0\nG1 Z-1.00 F100\nX2.00\nX3.00\nG0 Z5.\nM30\n";
  auto const written = rewrite(program, [](motion::Step& step, auto const&) {
    if (step.place.line != 5) return true;
    step.touched = true;
    std::get<motion::Motion>(step.event).feed = 80;
    return true;
  });
  // The block behind it still counts on F100, so it is written afresh to say so.
  CHECK(written.text ==
        "G21 G90 G17\n(bell yoke)\nG0  X1.0  Y2.0\nG1 Z-1.00 F100\nX2 F80\nX3 F100\nG0 Z5.\nM30\n");
  CHECK(written.count.afresh == 2);
}

TEST_CASE("a rewritten block has the line end of the block it replaces", "[copy]") {
  std::string const program = "G21 G90\r\nG0 X1\r\nG0 X2\r\nM30\r\n";
  auto const written = rewrite(program, [](motion::Step& step, auto const&) {
    step.touched = step.place.line == 2;
    return true;
  });
  CHECK(written.text == program);
}

TEST_CASE("what is added behind a last line without an end begins on its own line", "[copy]") {
  auto const written = rewrite("G21 G90\nG0 X1", [](motion::Step& step, auto const&) {
    step.touched = false;
    return true;
  });
  CHECK(written.text == "G21 G90\nG0 X1");
  text::Findings findings;
  auto input = text::Input::from_memory("G21 G90\nG0 X1");
  auto const dialect = shipped("rs274ngc");
  interpret::ProgramReader reader(input, dialect.read, findings);
  std::string text;
  dialect::BlockWriter writer(dialect, input, [&](std::string_view piece) { text += piece; }, findings, {});
  motion::Step step;
  while (reader.next(step))
    writer.write(step);
  step.event = motion::Stop{motion::StopKind::end};
  step.generated = true;
  writer.write(step);
  writer.finish();
  CHECK(text == "G21 G90\nG0 X1\nM2\n");
}

TEST_CASE("an inserted stop or remark does not disturb the copying around it", "[copy]") {
  std::string const program = "G21 G90\nG0 X1.0\nG91\nG1 Y1.0 F100\nY1.0\nG90\nM30\n";
  auto const written = rewrite(program, [](motion::Step& step, auto const& add) {
    if (step.place.line == 5) {
      auto extra = step;
      extra.generated = true;
      extra.event = motion::Comment{"look", false};
      add(extra);
      extra.event = motion::SpindleTurn{motion::Rotation::stop};
      add(extra);
    }
    return true;
  });
  CHECK(written.text == "G21 G90\nG0 X1.0\nG91\nG1 Y1.0 F100\n(look)\nM5\nY1.0\nG90\nM30\n");
}

TEST_CASE("behind an inserted move an incremental block is not copied from the wrong place", "[copy]") {
  std::string const program = "G21 G90\nG0 X1 Y0 Z0\nG91\nG1 Y1.0 F100\nY1.0\nG90\nG0 Z9\nM30\n";
  auto const written = rewrite(program, [](motion::Step& step, auto const& add) {
    if (step.place.line == 5) {
      auto extra = step;
      extra.generated = true;
      extra.event = motion::Motion{.path = motion::PathKind::rapid, .from = {1, 1, 0}, .to = {1, 1, 7}};
      add(extra);
    }
    return true;
  });
  auto const dialect = shipped("rs274ngc");
  auto const motions = course(written.text, dialect, 0);
  REQUIRE(motions.size() == 5);
  CHECK(motions[3].to == motion::Vec3{1, 2, 0});
  CHECK(motions[4].to == motion::Vec3{1, 2, 9});
}

TEST_CASE("a block left out ends the copying until the tool is where the next block expects it", "[copy]") {
  std::string const program =
      "G21 G90 G17\nG0 X0.0 Y0.0 Z5.0\nG1 X1.0 F100\nG18 Y7.0\nX2.0\nY3.0\nX4.0\nM30\n";
  auto const written = rewrite(program, [](motion::Step& step, auto const&) { return step.place.line != 4; });
  CHECK(written.text == "G21 G90 G17\nG0 X0.0 Y0.0 Z5.0\nG1 X1.0 F100\nX2 Y7\nG18\nY3.0\nX4.0\nM30\n");
}
