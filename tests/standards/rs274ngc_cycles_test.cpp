// Canned cycles of NISTIR 6556, section 3.5.16, table 10 and appendix C.3. The positions of the appendix's
// holes are our own arithmetic on its input lines (inch, the spindle starting below the first R).
#include "../interpret/read_program.hpp"
#include "motion/cycle.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::moves_of;
using test::read;

namespace {

std::string moves_of_cycles(test::Reading const& reading) {
  std::vector<motion::Event> all;
  for (auto const& cycle : reading.all<motion::Cycle>())
    for (auto const& event : motion::expand(cycle))
      all.push_back(event);
  return moves_of(all);
}

interpret::ReadRules by_the_standard() {
  interpret::ReadRules rules;
  rules.initial_level_sticky = false;
  return rules;
}

/// "(x,y) R bottom/clear" of a hole, inch.
std::string hole_of(motion::Cycle const& cycle) {
  auto const inch = [](double mm) { return mm / 25.4 + 0.0; };
  return fmt::format("({:.4g},{:.4g}) {:.4g} {:.4g}/{:.4g}", inch(cycle.hole.x), inch(cycle.hole.y),
                     inch(cycle.retract), inch(cycle.hole.z), inch(cycle.clear));
}

} // namespace

TEST_CASE("G81 example 1 of 3.5.16.2") {
  auto const reading = read("F100\nG0 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8\n");
  CHECK(reading.errors().empty());
  CHECK(moves_of_cycles(reading) == "T (4,5,3); T (4,5,2.8); F (4,5,1.5); T (4,5,3)");
}

TEST_CASE("G81 example 1 with G99 ends on the retract plane") {
  auto const reading = read("F100\nG0 X1 Y2 Z3\nG90 G81 G99 X4 Y5 Z1.5 R2.8\n");
  CHECK(moves_of_cycles(reading) == "T (4,5,3); T (4,5,2.8); F (4,5,1.5); T (4,5,2.8)");
}

TEST_CASE("G81 example 2 of 3.5.16.2: three holes in incremental mode") {
  for (auto const& rules : {interpret::ReadRules{}, by_the_standard()}) {
    auto const reading = read("F100\nG0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\n", rules);
    CHECK(reading.errors().empty());
    CHECK(moves_of_cycles(reading) ==
          "T (1,2,4.8); T (5,7,4.8); F (5,7,4.2); T (5,7,4.8); T (9,12,4.8); F (9,12,4.2); T (9,12,4.8); "
          "T (13,17,4.8); F (13,17,4.2); T (13,17,4.8)");
  }
}

TEST_CASE("Table 10: the session's motions") {
  auto const first = read("g0 x0 y0 z0\n"
                          "g1 x3 y1 f20.0\n"
                          "g2 x[6-[4*3/2]] r 7.01 z0.5\n"
                          "(that was a helical arc)\n"
                          "t2\n"
                          "m6 g43 h2\n"
                          "m2\n");
  CHECK(first.errors().empty());
  CHECK(first.motions()[1].to == motion::Vec3{3, 1, 0});
  CHECK(first.motions()[1].feed == 20);
  CHECK(first.motions()[2].to == motion::Vec3{0, 1, 0.5});
  CHECK(test::order_of(first.steps, 4) == "comment");
  CHECK(test::order_of(first.steps, 5) == "tool");
  CHECK(test::order_of(first.steps, 6) == "tool change, length offset");
  CHECK(test::order_of(first.steps, 7) == "stop");

  // With the tool's length of 1.0 taken off, Z reads -0.5.
  auto const second = read("f20 g0 x0 y1 z-0.5\n"
                           "g1 x asin[0.5]\n"
                           "g91 g81 x3 y2 z-0.8 r1.5 l2\n");
  CHECK(second.errors().empty());
  CHECK(second.motions()[1].to.x == Approx(30).margin(1e-8));
  CHECK(moves_of_cycles(second) ==
        "T (30,1,1); T (33,3,1); F (33,3,0.2); T (33,3,1); T (36,5,1); F (36,5,0.2); "
        "T (36,5,1)");
}

TEST_CASE("Appendix C.3, n0020 to n0090: the holes") {
  std::string const lines = "g81 x3 y4 r0.2 z-1.1\n"
                            "x1 y0 r0 g91 l3\n"
                            "y-2 r0.1\n"
                            "g82 g90 x4 y5 r0.2 z-1.1 p0.6\n"
                            "x2 z-3.0\n"
                            "g91 x-2 y2 r0 l4\n"
                            "g83 g90 x5 y6 r0.2 z-1.1 q0.21\n";
  struct Row {
    char const* level;
    std::vector<std::string> holes;
  };
  Row const rows[] = {
      {"g98",
       {"(3,4) 0.2 -1.1/0.2", "(4,4) 0.2 -0.9/0.2", "(5,4) 0.2 -0.9/0.2", "(6,4) 0.2 -0.9/0.2",
        "(6,2) 0.3 -0.8/0.3", "(4,5) 0.2 -1.1/0.3", "(2,5) 0.2 -3/0.3", "(0,7) 0.3 -2.7/0.3",
        "(-2,9) 0.3 -2.7/0.3", "(-4,11) 0.3 -2.7/0.3", "(-6,13) 0.3 -2.7/0.3", "(5,6) 0.2 -1.1/0.3"}},
      {"g99",
       {"(3,4) 0.2 -1.1/0.2", "(4,4) 0.2 -0.9/0.2", "(5,4) 0.2 -0.9/0.2", "(6,4) 0.2 -0.9/0.2",
        "(6,2) 0.3 -0.8/0.3", "(4,5) 0.2 -1.1/0.2", "(2,5) 0.2 -3/0.2", "(0,7) 0.2 -2.8/0.2",
        "(-2,9) 0.2 -2.8/0.2", "(-4,11) 0.2 -2.8/0.2", "(-6,13) 0.2 -2.8/0.2", "(5,6) 0.2 -1.1/0.2"}},
  };
  for (auto const& row : rows) {
    INFO(row.level);
    auto const reading =
        read(fmt::format("g20 f10\ng0 x0 y0 z0 {}\n{}", row.level, lines), by_the_standard());
    CHECK(reading.errors().empty());
    std::vector<std::string> holes;
    for (auto const& cycle : reading.all<motion::Cycle>())
      holes.push_back(hole_of(cycle));
    CHECK(holes == row.holes);
  }
}

TEST_CASE("Appendix C.3, n0050: the tool rises to R before it moves across") {
  auto const reading = read("g20 f10 g0 x6 y4 z0.2\ng91 g81 y-2 x0 r0.1 z-1.1\n", by_the_standard());
  auto const events = motion::expand(reading.all<motion::Cycle>()[0]);
  auto const& first = std::get<motion::Motion>(events[0]);
  CHECK(first.path == motion::PathKind::rapid);
  CHECK(first.to.x == Approx(6 * 25.4));
  CHECK(first.to.y == Approx(4 * 25.4));
  CHECK(first.to.z == Approx(0.3 * 25.4));
}

TEST_CASE("Appendix C.3, n0090: the bottoms of the pecks") {
  auto const reading = read("g20 f10\ng0 x0 y0 z0\ng83 g90 x5 y6 r0.2 z-1.1 q0.21\n", by_the_standard());
  std::vector<double> bottoms;
  for (auto const& event : motion::expand(reading.all<motion::Cycle>()[0]))
    if (auto const* move = std::get_if<motion::Motion>(&event); move && motion::is_cutting(*move))
      bottoms.push_back(move->to.z / 25.4);
  std::vector<double> const expected{-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1};
  REQUIRE(bottoms.size() == expected.size());
  for (std::size_t i = 0; i < expected.size(); ++i)
    CHECK(bottoms[i] == Approx(expected[i]).margin(1e-9));
}

TEST_CASE("Cycles work in all three planes, 3.5.16") {
  auto const zx = read("F100\nG18\nG0 X0 Y9 Z0\nG81 X1 Z2 Y-3 R5\n");
  CHECK(zx.errors().empty());
  CHECK(moves_of_cycles(zx) == "T (1,9,2); T (1,5,2); F (1,-3,2); T (1,9,2)");
  auto const yz = read("F100\nG19\nG0 X9 Y0 Z0\nG81 Y1 Z2 X-3 R5\n");
  CHECK(yz.errors().empty());
  CHECK(moves_of_cycles(yz) == "T (9,1,2); T (5,1,2); F (-3,1,2); T (9,1,2)");
}
