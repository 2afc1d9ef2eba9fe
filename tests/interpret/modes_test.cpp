#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

TEST_CASE("Words stand for the unit in force, and an inch is 25.4 mm exactly") {
  auto const reading = read("G20\nG0 X1 Y-0.0001 Z.5\nG21\nX1.2345\nM30\n");
  CHECK(reading.errors().empty());
  auto const motions = reading.motions();
  CHECK(motions[0].to == motion::Vec3{25.4, -0.00254, 12.7});
  CHECK(motions[1].to == motion::Vec3{1.2345, -0.00254, 12.7});
}

TEST_CASE("G70 and G71 are inch and mm where the dialect says so") {
  CHECK(read("G70 G0 X1\n").motions()[0].to.x == 25.4);
  CHECK(read("G70\nG71 G0 X1\n").motions()[0].to.x == 1);
  interpret::ReadRules rules;
  rules.iso_units = false;
  CHECK(read("G70\n", rules).error_codes() == std::vector<std::string>{"unknown-g-code"});
}

TEST_CASE("A program may start in inches by the dialect's rules") {
  interpret::ReadRules rules;
  rules.starts_in_inch = true;
  CHECK(read("G0 X2\n", rules).motions()[0].to.x == 50.8);
}

TEST_CASE("Incremental words add up without drift") {
  std::string program = "G0 X0\nG91\n";
  for (int i = 0; i < 1000; ++i)
    program += "X0.1\n";
  CHECK(read(program).position.x == 100);
}

TEST_CASE("A coordinate is unknown until a word states it") {
  auto const motions = read("G0 X1\nY2\nG91 Z1\n").motions();
  REQUIRE(motions.size() == 3);
  CHECK_FALSE(motion::is_known(motions[0].from.x));
  CHECK(motions[0].to.x == 1);
  CHECK_FALSE(motion::is_known(motions[0].to.y));
  CHECK(motions[1].from.x == 1);
  CHECK(motions[1].to.y == 2);
  CHECK_FALSE(motion::is_known(motions[2].to.z));
}

TEST_CASE("Lengths without a point count least increments where the dialect says so") {
  interpret::ReadRules rules;
  rules.count_without_point = true;
  auto const reading =
      read("G0 X10 Y10. Z-1500\nG20 X10\nG21 G4 X1500\nG4 X1.5\nG1 F200 X0\nG2 X20 I10\n", rules);
  CHECK(reading.errors().empty());
  auto const motions = reading.motions();
  CHECK(motions[0].to == motion::Vec3{0.01, 10, -1.5});
  CHECK(motions[1].to.x == 0.0254);
  auto const dwells = reading.all<motion::Dwell>();
  CHECK(dwells[0].seconds == 1.5);
  CHECK(dwells[1].seconds == 1.5);
  CHECK(motions[2].feed == 200);
  CHECK(motions[3].centre.x == 0.01);
}

TEST_CASE("A dwell is in seconds, or in milliseconds by the dialect's rules") {
  CHECK(read("G4 P0.25\n").last<motion::Dwell>().seconds == 0.25);
  interpret::ReadRules rules;
  rules.dwell_in_milliseconds = true;
  CHECK(read("G4 P250\n", rules).last<motion::Dwell>().seconds == 0.25);
}

TEST_CASE("The feed is taken in the unit of its block and dropped when the unit or the feed mode changes") {
  auto const inch = read("G0 X0\nG20 G1 X1 F10\n");
  CHECK(inch.motions().back().feed == 254);
  CHECK(read("F100\nG20\nG1 X1\n").error_codes() == std::vector<std::string>{"no-feed"});
  CHECK(read("F100\nG21\nG1 X1\n").errors().empty());
  CHECK(read("F100\nS500 G95\nG1 X1\n").error_codes() == std::vector<std::string>{"no-feed"});
}

TEST_CASE("With G93 every cutting move needs an F of its own") {
  auto const reading = read("G93\nG1 X1 F2.0\nG0 X0\nG1 X1 F4\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions()[0].feed == 2); // NISTIR 6556, 3.5.19: the move lasts half a minute
  CHECK(reading.motions()[0].feed_mode == motion::FeedMode::inverse_time);
  CHECK(read("G93\nG1 X1 F2\nX2\n").error_codes() == std::vector<std::string>{"inverse-time-without-feed"});
}

TEST_CASE("With G95 a move needs a spindle speed") {
  CHECK(read("G95 G1 X1 F0.2\n").error_codes() == std::vector<std::string>{"no-spindle-speed"});
  auto const reading = read("S500 M3\nG95 G1 X1 F0.2\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions()[0].feed == 0.2);
  CHECK(reading.motions()[0].feed_mode == motion::FeedMode::per_revolution);
}

TEST_CASE("A work offset makes the position unknown unless it is the one in force") {
  auto const reading = read("G54 G0 X1 Y2 Z3\nG54\nX2\nG55\nX2\n");
  auto const motions = reading.motions();
  CHECK(motions[1].from == motion::Vec3{1, 2, 3});
  CHECK_FALSE(motion::is_known(motions[2].from.x));
  CHECK_FALSE(motion::is_known(motions[2].to.z));
  CHECK(reading.all<motion::WorkOffset>().back().system == 2);
}

TEST_CASE("The nine work offsets have their numbers") {
  auto const offsets = read("G54\nG55\nG56\nG57\nG58\nG59\nG59.1\nG59.2\nG59.3\n").all<motion::WorkOffset>();
  REQUIRE(offsets.size() == 9);
  for (int i = 0; i < 9; ++i)
    CHECK(offsets[static_cast<std::size_t>(i)].system == i + 1);
}

TEST_CASE("A tool length offset makes the height unknown unless it is the one in force") {
  auto const motions = read("G0 X0 Y0 Z5\nG43 H1\nX1\nZ10\nG43 H1\nX2\nG49\nX3\n").motions();
  CHECK_FALSE(motion::is_known(motions[1].to.z));
  CHECK(motions[1].to.x == 1);
  CHECK(motions[3].to.z == 10);
  CHECK_FALSE(motion::is_known(motions[4].from.z));
}

TEST_CASE("A length offset and a height in one block leave the height known") {
  auto const reading = read("G0 X0 Y0\nG43 H2 Z25\n");
  CHECK(reading.all<motion::LengthOffset>()[0] == motion::LengthOffset{true, 2});
  CHECK(reading.position == motion::Vec3{0, 0, 25});
}

TEST_CASE("Path control carries its tolerance") {
  using enum motion::PathMode;
  auto const modes = read("G61\nG61.1\nG64\nG64 P0.02\nG20 G64 P0.001\n").all<motion::PathControl>();
  REQUIRE(modes.size() == 5);
  CHECK(modes[0] == motion::PathControl{exact_path, 0});
  CHECK(modes[1] == motion::PathControl{exact_stop, 0});
  CHECK(modes[2] == motion::PathControl{continuous, 0});
  CHECK(modes[3] == motion::PathControl{continuous, 0.02});
  CHECK(modes[4] == motion::PathControl{continuous, 0.0254});
}

TEST_CASE("Moves under cutter compensation are marked, and those that leave it") {
  auto const motions = read("G0 X0 Y0 Z0\nF100\nG41 D3\nG1 X1\nY1\nG40\nZ5\nX2\nX3 Y3\nX4\n").motions();
  REQUIRE(motions.size() == 7);
  CHECK_FALSE(motions[0].compensated);
  CHECK(motions[1].compensated);
  CHECK(motions[2].compensated);
  CHECK(motions[3].compensated); // the tool centre has not come back yet
  CHECK(motions[4].compensated);
  CHECK(motions[5].compensated);
  CHECK_FALSE(motions[6].compensated);
}

TEST_CASE("Moves of other axes are marked, the linear axes stay known") {
  auto const reading = read("G0 X1 Y2 Z3\nA90\nX2 B45\n");
  CHECK(reading.errors().empty());
  auto const motions = reading.motions();
  CHECK(motions[1].rotary);
  CHECK(motions[1].from == motions[1].to);
  CHECK(motions[2].rotary);
  CHECK(motions[2].to == motion::Vec3{2, 2, 3});
}

TEST_CASE("Events carry their values") {
  auto const reading = read("S1234.5 M4\nT7\nM6\nM8\nM9\nM48\nM1\nM60\nM0\nM2\n");
  CHECK(reading.errors().empty());
  CHECK(reading.all<motion::SpindleSpeed>()[0].rpm == 1234.5);
  CHECK(reading.all<motion::SpindleTurn>()[0].rotation == motion::Rotation::counter_clockwise);
  CHECK(reading.all<motion::ToolSelect>()[0].tool == 7);
  CHECK(reading.all<motion::ToolChange>()[0].tool == 7);
  CHECK(reading.all<motion::Coolant>()[0].kind == motion::CoolantKind::flood);
  CHECK(reading.all<motion::Coolant>()[1].kind == motion::CoolantKind::off);
  CHECK(reading.all<motion::Override>()[0].enabled);
  using enum motion::StopKind;
  auto const stops = reading.all<motion::Stop>();
  REQUIRE(stops.size() == 4);
  CHECK(stops[0].kind == optional);
  CHECK(stops[1].kind == pallet);
  CHECK(stops[2].kind == program);
  CHECK(stops[3].kind == end);
}

TEST_CASE("Cancels of what is never active are only modes") {
  auto const reading = read("G15 G50 G50.1 G67 G69 G97\n");
  CHECK(reading.errors().empty());
  CHECK(reading.last<motion::Layout>().kind == motion::LayoutKind::modes);
}

TEST_CASE("A safe start line with G0 and G80 is only modes") {
  auto const reading = read("G0 G17 G21 G40 G49 G80 G90 G94 G98\nX1\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions().size() == 1);
  CHECK(reading.motions()[0].path == motion::PathKind::rapid);
}

TEST_CASE("G80 and G0 in one block end a cycle and move") {
  auto const reading = read("G0 X0 Y0 Z5\nG99 G81 X1 Y1 Z-1 R2 F100\nG80 G0 Z20\nX3\n");
  CHECK(reading.errors().empty());
  CHECK(reading.position == motion::Vec3{3, 1, 20});
}

TEST_CASE("Codes that the dialect lists are carried with the words that only they can use") {
  interpret::ReadRules rules;
  rules.carried_g = {51};
  rules.carried_m = {29};
  auto const smooth = read("G5.1 Q1\nG0 X1\n", rules);
  CHECK(smooth.errors().empty());
  CHECK(smooth.all<motion::Carried>()[0] == motion::Carried{"G5.1 Q1", false});
  auto const tapping = read("M3 S300\nM29 S300\n", rules);
  CHECK(tapping.errors().empty());
  CHECK(tapping.all<motion::Carried>()[0].text == "M29");
  auto const moving = read("G0 X1 Y1\nG5.1 X5 Y2\nY7\n", rules);
  CHECK(moving.errors().empty());
  CHECK(moving.all<motion::Carried>()[0] == motion::Carried{"G5.1 X5 Y2", true});
  CHECK_FALSE(motion::is_known(moving.motions().back().to.x));
}

TEST_CASE("the words of state are counted as said only where a block always runs") {
  namespace word = motion::state_word;
  auto const said = [](std::string const& program) {
    text::Findings findings;
    auto input = text::Input::from_memory(program);
    interpret::ProgramReader reader(input, {}, findings);
    for (motion::Step step; reader.next(step);) {
    }
    return static_cast<unsigned>(reader.stated());
  };
  CHECK(said("G0 X1\n") == 0);
  CHECK(said("G17 G20 G40 G80 G90 G94\n") == word::all);
  CHECK(said("G19\nG91\n") == (word::plane | word::distance));
  CHECK(said("G41 D1\n") == 0); // on is not off
  CHECK(said("G80\n") == word::cycle);
  CHECK(said("/G21\n/2 G40\n") == 0);
}
