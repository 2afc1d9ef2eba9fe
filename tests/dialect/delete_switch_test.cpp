// Block delete with the number of one of several switches ("/2"): trade practice, no source.
#include "program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::dialect_test;

namespace {

/// Halves every feed: no cutting block is copied.
bool slower(motion::Step& step, std::function<void(motion::Step const&)> const&) {
  if (auto* const move = std::get_if<motion::Motion>(&step.event);
      move != nullptr && motion::is_cutting(*move)) {
    move->feed /= 2;
    step.touched = true;
  }
  return true;
}

} // namespace

TEST_CASE("a block keeps the number of its delete switch when it is written afresh", "[delete]") {
  auto const written =
      rewrite("G21 G90 G17 G94 F100\nG0 X0 Y0 Z0\n/2 G1 X10\n/3X20\n/ 4 X30\n/X40\nX50\nM30\n", slower);
  CHECK(written.errors().empty());
  CHECK(written.text.find("/2G1") != std::string::npos);
  CHECK(written.text.find("/3") != std::string::npos);
  CHECK(written.text.find("/4") != std::string::npos);
  CHECK(written.text.find("\n/G") != std::string::npos);
  std::size_t marks = 0;
  for (char const c : written.text)
    marks += c == '/' ? 1U : 0U;
  CHECK(marks >= 4);
}

TEST_CASE("what a stage puts in front of a block has the number of its delete switch", "[delete]") {
  auto const written = rewrite("G21 G90 G17 G94 F100\nG0 X0 Y0 Z0\n/2 G1 X10\n/3 G1 X20\n/G1 X30\nM30\n",
                               [](motion::Step& step, auto const& add) {
                                 if (step.optional && motion::motion_of(step) != nullptr) {
                                   motion::Step wait = step;
                                   wait.event = motion::Dwell{0.5};
                                   wait.generated = true;
                                   add(wait);
                                 }
                                 return true;
                               });
  CHECK(written.errors().empty());
  CHECK(written.text.find("/2G4 P0.5\n") != std::string::npos);
  CHECK(written.text.find("/3G4 P0.5\n") != std::string::npos);
  CHECK(written.text.find("\n/G4 P0.5\n") != std::string::npos);
}

TEST_CASE("a block with a numbered delete switch that nothing touches is copied", "[delete]") {
  std::string const program = "G21 G90 G17 G94 F100\nG0 X0 Y0 Z0\n/2 G1 X10\n/9 N5 X20\n/1X30\nM30\n";
  CHECK(rewrite(program).text == program);
}
