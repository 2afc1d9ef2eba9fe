// Offsets and modes of NISTIR 6556, sections 3.5.5, 3.5.8, 3.5.12, 3.5.18 and 3.5.19.
#include "../interpret/read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

TEST_CASE("G92, 3.5.18: the point where the tool stands gets the coordinates given, nothing moves") {
  auto const reading = read("G0 X4 Y0 Z0\nG92 x7\nG92 x9\n");
  CHECK(reading.errors().empty());
  CHECK(reading.position.x == 9);
  CHECK(reading.motions().size() == 1);
  CHECK(reading.all<motion::OffsetChange>()[0].values.x == 7);
  CHECK_FALSE(motion::is_known(reading.all<motion::OffsetChange>()[0].values.y));
}

TEST_CASE("G92, 3.5.18: offsets add up to -5, and G92.2 takes them off") {
  CHECK(read("G0 X4 Y0 Z0\nG92 x7\nG92 x9\nG92.2\n").position.x == 4);
  CHECK(read("G0 X4 Y0 Z0\nG92 x7\nG92 x9\nG92.1\n").position.x == 4);
}

TEST_CASE("G92.3, 3.5.18: loads the offsets that G92.2 keeps and G92.1 clears") {
  CHECK(read("G0 X4\nG92 x7\nG92.2\nG92.3\n").position.x == 7);
  CHECK(read("G0 X4\nG92 x7\nG92.1\nG92.3\n").position.x == 4);
}

TEST_CASE("G92, 3.5.18: incremental mode has no effect on it") {
  CHECK(read("G0 X4\nG91\nG92 x7\n").position.x == 7);
}

TEST_CASE("G10 L2, 3.5.5: stores the origin of a work offset") {
  auto const reading = read("G10 L2 P1 x 3.5 y 17.2\n");
  CHECK(reading.errors().empty());
  auto const event = reading.last<motion::SetOrigin>();
  CHECK(event.system == 1);
  CHECK(event.origin.x == 3.5);
  CHECK(event.origin.y == 17.2);
  CHECK_FALSE(motion::is_known(event.origin.z));
}

TEST_CASE("G10 L2, 3.5.5: the active origin takes the position with it, another one does not") {
  CHECK_FALSE(motion::is_known(read("G54 G0 X1 Y2\nG10 L2 P1 X5\n").position.x));
  CHECK(read("G54 G0 X1 Y2\nG10 L2 P1 X5\n").position.y == 2);
  CHECK(read("G54\nG10 L2 P1 X5\nG0 X1\nG10 L2 P1 X8\n").position.x == -2);
  CHECK(read("G54 G0 X1\nG10 L2 P2 X5\n").position.x == 1);
}

TEST_CASE("G28, 3.5.8: home through a point") {
  auto const reading = read("G0 X1 Y2 Z3\nG91 G28 Z10\n");
  CHECK(reading.errors().empty());
  auto const home = reading.last<motion::Home>();
  CHECK_FALSE(home.second);
  CHECK(home.axes == 4);
  CHECK(home.via.z == 13);
  CHECK_FALSE(motion::is_known(home.via.x));
  CHECK(reading.position.x == 1);
  CHECK_FALSE(motion::is_known(reading.position.z));
}

TEST_CASE("G28, 3.5.8: every axis goes home by the standard, or only those named in the trade") {
  interpret::ReadRules rules;
  rules.home_moves_all_axes = true;
  CHECK(read("G0 X1 Y2 Z3\nG28 Z3\n", rules).last<motion::Home>().axes == 7);
  CHECK_FALSE(motion::is_known(read("G0 X1 Y2 Z3\nG28 Z3\n", rules).position.x));
  CHECK(read("G0 X1 Y2 Z3\nG28\n").last<motion::Home>().axes == 7);
  CHECK(read("G0 X1 Y2 Z3\nG30 X0\n").last<motion::Home>().second);
}

TEST_CASE("G28 suspends the motion mode for its block only, 3.4") {
  auto const reading = read("G1 X1 Y2 Z3 F100\nG28 Z5\nX4\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions().back().path == motion::PathKind::line);
  CHECK(reading.motions().back().to.x == 4);
}

TEST_CASE("G53, 3.5.12: a move in machine coordinates for one block") {
  auto const reading = read("G0 X1 Y2 Z3\nG53 Z-10\nX5\nG53 G1 X7 F200\n");
  CHECK(reading.errors().empty());
  auto const moves = reading.all<motion::MachineMove>();
  REQUIRE(moves.size() == 2);
  CHECK(moves[0].rapid);
  CHECK(moves[0].to.z == -10);
  CHECK(moves[0].from == motion::Vec3{1, 2, 3});
  CHECK_FALSE(motion::is_known(moves[0].to.x));
  CHECK_FALSE(moves[1].rapid);
  CHECK(moves[1].feed == 200);
  CHECK_FALSE(motion::is_known(reading.motions().back().from.z));
  CHECK(reading.motions().back().from.x == 1);
}

TEST_CASE("G93, 3.5.19: F2.0 is a move of half a minute") {
  auto const move = read("G0 X0\nG93 G1 X10 F2.0\n").motions().back();
  CHECK(move.feed_mode == motion::FeedMode::inverse_time);
  CHECK(1 / move.feed == 0.5);
}

TEST_CASE("A local shift counts from the work offset, not from the shift before") {
  // Common trade practice; not in the standard.
  CHECK(read("G0 X4 Y1\nG52 X10\n").position.x == -6);
  CHECK(read("G0 X4 Y1\nG52 X10\nG52 X3\n").position.x == 1);
  CHECK(read("G0 X4 Y1\nG52 X10\nG52 X0\n").position.x == 4);
}

TEST_CASE("G38.2, 3.5.9.1: where the probe stops is not known") {
  auto const reading = read("G0 X0 Y0 Z10 F50\nG38.2 Z-5\n");
  CHECK(reading.errors().empty());
  auto const probe = reading.last<motion::Probe>();
  CHECK(probe.to == motion::Vec3{0, 0, -5});
  CHECK(probe.feed == 50);
  CHECK_FALSE(motion::is_known(reading.position.z));
  CHECK(reading.position.x == 0);
}

// G10 L20: common practice, no standard has it. The point where the tool stands gets the coordinates given.

TEST_CASE("G10 L20 names the point where the tool stands in the active work offset") {
  auto const reading = read("G54\nG0 X5 Y6 Z7\nG10 L20 P1 Z2\n");
  CHECK(reading.errors().empty());
  auto const event = reading.last<motion::SetOrigin>();
  CHECK(event.here);
  CHECK(event.system == 1);
  CHECK(event.origin.z == 2);
  CHECK(reading.position == motion::Vec3{5, 6, 2});
  CHECK(read("G54\nG0 X5 Y6 Z7\nG10 L20 P0 X0\n").position == motion::Vec3{0, 6, 7});
  CHECK(read("G54\nG0 X5 Y6 Z7\nG10 L20 P2 X0\n").position == motion::Vec3{5, 6, 7});
}

TEST_CASE("after a probe move G10 L20 makes the height known again") {
  CHECK(read("G54 G0 X0 Y0 Z10 F50\nG38.2 Z-5\nG10 L20 P0 Z12\n").position.z == 12);
}

TEST_CASE("G10 L20 leaves the origin unknown: coming back to the offset does not tell where the tool is") {
  auto const reading = read("G10 L2 P1 X1 Y2 Z3\nG10 L2 P2 X0 Y0 Z0\nG54\nG0 X0 Y0 Z0\nG10 L20 P1 Z5\nG55\n");
  CHECK_FALSE(motion::is_known(reading.position.z));
}

TEST_CASE("a reader to the letter of the standard knows no G10 L20") {
  interpret::ReadRules rules;
  rules.strict_layout = true;
  CHECK(read("G0 Z7\nG10 L20 P1 Z2\nM30\n", rules).error_codes() ==
        std::vector<std::string>{"g10-not-understood"});
}
