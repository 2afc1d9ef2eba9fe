// Expected sequences: NISTIR 6556, 3.5.16.2 to 3.5.16.10; G73, G74 and G76 common trade practice.
#include "motion/cycle.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <string>

using namespace restep::motion;

namespace {

std::string text_of(std::vector<Event> const& events) {
  std::string text;
  for (auto const& event : events) {
    if (!text.empty()) text += "; ";
    if (auto const* move = std::get_if<Motion>(&event))
      text +=
          fmt::format("{} {:g},{:g},{:g}", is_cutting(*move) ? "F" : "T", move->to.x, move->to.y, move->to.z);
    else if (auto const* dwell = std::get_if<Dwell>(&event))
      text += fmt::format("dwell {:g}", dwell->seconds);
    else if (auto const* turn = std::get_if<SpindleTurn>(&event))
      text += turn->rotation == Rotation::stop ? "off" : turn->rotation == Rotation::clockwise ? "cw" : "ccw";
    else if (std::holds_alternative<Stop>(event))
      text += "stop";
  }
  return text;
}

Cycle hole(int code) {
  Cycle cycle;
  cycle.code = static_cast<std::int16_t>(code);
  cycle.from = {0, 0, 10};
  cycle.hole = {4, 5, -3};
  cycle.retract = 2;
  cycle.clear = 10;
  cycle.feed = 80;
  return cycle;
}

} // namespace

TEST_CASE("G81 feeds down and leaves at traverse rate") {
  CHECK(text_of(expand(hole(810))) == "T 4,5,10; T 4,5,2; F 4,5,-3; T 4,5,10");
}

TEST_CASE("G82 waits at the bottom") {
  auto cycle = hole(820);
  cycle.dwell = 0.5;
  CHECK(text_of(expand(cycle)) == "T 4,5,10; T 4,5,2; F 4,5,-3; dwell 0.5; T 4,5,10");
}

TEST_CASE("G83 leaves the hole after every peck and comes back to just above the last bottom") {
  auto cycle = hole(830);
  cycle.peck = 2;
  CHECK(text_of(expand(cycle)) == "T 4,5,10; T 4,5,2; F 4,5,0; T 4,5,10; T 4,5,0.254; F 4,5,-2; T 4,5,10; "
                                  "T 4,5,-1.746; F 4,5,-3; T 4,5,10");
}

TEST_CASE("G73 backs off a little after every peck") {
  auto cycle = hole(730);
  cycle.peck = 2;
  CHECK(text_of(expand(cycle)) ==
        "T 4,5,10; T 4,5,2; F 4,5,0; T 4,5,0.254; F 4,5,-2; T 4,5,-1.746; F 4,5,-3; T 4,5,10");
}

TEST_CASE("A peck that divides the depth ends on the bottom once") {
  auto cycle = hole(730);
  cycle.peck = 2.5;
  CHECK(text_of(expand(cycle)) == "T 4,5,10; T 4,5,2; F 4,5,-0.5; T 4,5,-0.246; F 4,5,-3; T 4,5,10");
}

TEST_CASE("G84 and G74 reverse at the bottom and feed out") {
  CHECK(text_of(expand(hole(840))) == "T 4,5,10; T 4,5,2; F 4,5,-3; off; ccw; F 4,5,10; off; cw");
  CHECK(text_of(expand(hole(740))) == "T 4,5,10; T 4,5,2; F 4,5,-3; off; cw; F 4,5,10; off; ccw");
}

TEST_CASE("G85 and G89 feed out") {
  CHECK(text_of(expand(hole(850))) == "T 4,5,10; T 4,5,2; F 4,5,-3; F 4,5,10");
  auto cycle = hole(890);
  cycle.dwell = 1;
  CHECK(text_of(expand(cycle)) == "T 4,5,10; T 4,5,2; F 4,5,-3; dwell 1; F 4,5,10");
}

TEST_CASE("G86 leaves with the spindle stopped and turns it on again as before") {
  CHECK(text_of(expand(hole(860), Rotation::counter_clockwise)) ==
        "T 4,5,10; T 4,5,2; F 4,5,-3; off; T 4,5,10; ccw");
}

TEST_CASE("G76 moves off the wall before it leaves") {
  auto cycle = hole(760);
  cycle.shift_i = 0.3;
  CHECK(text_of(expand(cycle)) == "T 4,5,10; T 4,5,2; F 4,5,-3; off; T 4.3,5,-3; T 4.3,5,10; T 4,5,10; cw");
}

TEST_CASE("G87 enters beside the hole and cuts upwards") {
  auto cycle = hole(870);
  cycle.shift_i = 1;
  cycle.shift_j = -1;
  cycle.shift_k = -1.5;
  CHECK(text_of(expand(cycle)) ==
        "T 4,5,10; T 4,5,2; T 5,4,2; off; T 5,4,-3; T 4,5,-3; cw; F 4,5,-1.5; F 4,5,-3; off; "
        "T 5,4,-3; T 5,4,10; T 4,5,10; cw");
}

TEST_CASE("G88 stops for the operator") {
  auto cycle = hole(880);
  cycle.dwell = 0.2;
  CHECK(text_of(expand(cycle)) == "T 4,5,10; T 4,5,2; F 4,5,-3; dwell 0.2; off; stop; T 4,5,10; cw");
}

TEST_CASE("A tool below the retract plane rises before it moves across") {
  auto cycle = hole(810);
  cycle.from = {0, 0, 1};
  cycle.clear = 2;
  CHECK(text_of(expand(cycle)) == "T 0,0,2; T 4,5,2; F 4,5,-3; T 4,5,2");
}

TEST_CASE("Holes along another axis are the same hole turned") {
  auto cycle = hole(810);
  cycle.plane = Plane::zx;
  cycle.from = {0, 10, 0};
  cycle.hole = {4, -3, 5};
  CHECK(text_of(expand(cycle)) == "T 4,10,5; T 4,2,5; F 4,-3,5; T 4,10,5");
}
