// Blocks of which a stage has changed the feed and nothing else keep their text where it says no feed.

#include "motion/stretch.hpp"
#include "program.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <random>
#include <set>
#include <string>
#include <utility>
#include <variant>

using namespace restep;
using namespace restep::dialect_test;
using restep::property::draw;

namespace {

double* feed_of(motion::Step& step) {
  if (auto* move = motion::motion_of(step)) return motion::is_cutting(*move) ? &move->feed : nullptr;
  if (auto* cycle = std::get_if<motion::Cycle>(&step.event)) return &cycle->feed;
  if (auto* probe = std::get_if<motion::Probe>(&step.event)) return &probe->feed;
  auto* move = std::get_if<motion::MachineMove>(&step.event);
  return move != nullptr && !move->rapid ? &move->feed : nullptr;
}

/// All feeds are this share of what they were. `mark` says how a stage tells of it.
template <class Mark>
Stage with_feeds(double share, Mark const& mark) {
  return [share, mark](motion::Step& step, auto const&) {
    double* const feed = feed_of(step);
    if (feed == nullptr || !(*feed > 0)) return true;
    *feed *= share;
    mark(step);
    return true;
  };
}

void as_other_feed(motion::Step& step) {
  step.other_feed = true;
}

/// Most F words are taken out: the feed before them goes on.
std::string without_most_feeds(std::string const& program, std::mt19937& random) {
  std::string thinned;
  bool first = true;
  for (std::size_t at = 0; at < program.size(); ++at) {
    bool const begins = program[at] == 'F' && at > 0 && program[at - 1] == ' ';
    if (begins && !std::exchange(first, false) && random() % 5 != 0)
      at = std::min(program.find_first_of(" \n", at), program.size());
    thinned += program[at];
  }
  return thinned;
}

std::string halved(std::string_view program) {
  return rewrite(program, with_feeds(0.5, as_other_feed)).text;
}

} // namespace

TEST_CASE("where the control has the other feed, a block that says none keeps its text", "[copy]") {
  CHECK(halved("G21 G90 G17\n(bell yoke)\nG0  X1.0  Y2.0\nG1 Z-1.00 F100\nX2.00\nX3.00\nG0 Z5.\nX9.0\n"
               "G1 Z-1.0\nG2 X9.0 Y4.0 R1.0\nG1 X1.00 F80.\nY2.00\nG0 Z5.\nM30\n") ==
        "G21 G90 G17\n(bell yoke)\nG0  X1.0  Y2.0\nG1 Z-1 F50\nX2.00\nX3.00\nG0 Z5.\nX9.0\n"
        "G1 Z-1.0\nG2 X9.0 Y4.0 R1.0\nG1 X1 F40\nY2.00\nG0 Z5.\nM30\n");
}

TEST_CASE("a block that says the feed in force again is written afresh", "[copy]") {
  CHECK(halved("G21 G90\nG1 X1.0 F100\nX2.0\nX3.0 F100\nX4.0 f100\nX5.0\nM30\n") ==
        "G21 G90\nG1 X1 F50\nX2.0\nX3\nX4\nX5.0\nM30\n");
}

TEST_CASE("a letter in a remark is no word", "[copy]") {
  CHECK(halved("G21 G90\nG1 X1.0 F100\nX2.0 (FIRST F100 G20)\nX3.0\nM30\n") ==
        "G21 G90\nG1 X1 F50\nX2.0 (FIRST F100 G20)\nX3.0\nM30\n");
}

TEST_CASE("only G0 to G3 are seen at once to leave the feed in force, however they are spelled", "[copy]") {
  // "G2 1" is G21, which says the units again; "G9 4" is G94.
  std::string const program =
      "G21 G90\nG1 X1.0 Y0 F100\ng01 X2.0\nG 0 X3.0\nG1 X4.0\nG03 X5.0 Y0 I.5 J0\nG2 1\nG1 X6.0\n"
      "G9 4 X7.0\nG1 X8.0\nM30\n";
  auto const written = halved(program);
  CHECK(
      written.starts_with("G21 G90\nG1 X1 Y0 F50\ng01 X2.0\nG 0 X3.0\nG1 X4.0\nG03 X5.0 Y0 I.5 J0\nG2 1\n"));
  CHECK(difference(
            course(rewrite(program, with_feeds(0.5, [](motion::Step& step) { step.touched = true; })).text,
                   shipped("rs274ngc"), 0),
            course(written, shipped("rs274ngc"), 0), 1e-6)
            .empty());
}

TEST_CASE("behind blocks with another feed the source's own is said again", "[copy]") {
  auto const written = rewrite("G21 G90\nG1 X1.0 F100\nX2.0\nX3.0\nG0 X4.0\nG1 X5.0\nX6.0\nM30\n",
                               [](motion::Step& step, auto const&) {
                                 double* const feed = feed_of(step);
                                 if (feed == nullptr || step.place.line > 4) return true;
                                 *feed = 80;
                                 step.other_feed = true;
                                 return true;
                               });
  CHECK(written.text == "G21 G90\nG1 X1 F80\nX2.0\nX3.0\nG0 X4.0\nG1 X5 F100\nX6.0\nM30\n");
}

TEST_CASE("other units take the feed out of force", "[copy]") {
  auto const written = halved("G21 G90\nG1 X1.0 F100\nX2.0\nG20\nX3.0 F4\nX4.0\nM30\n");
  CHECK(written == "G21 G90\nG1 X1 F50\nX2.0\nG20\nX3 F2\nX4.0\nM30\n");
}

TEST_CASE("another feed is what the written program runs at, whatever else it says", "[copy][law]") {
  std::mt19937 random(7);
  auto const dialect = shipped("rs274ngc");
  std::uint64_t copied = 0, copied_if_touched = 0;
  for (int round = 0; round < 300; ++round) {
    ProgramShape shape{.blocks = 150, .inch = round % 3 == 0, .line_numbers = round % 4 == 0};
    shape.arcs = !shape.inch; // three decimals of an inch are too coarse for their centres
    shape.incremental = round % 5 == 0;
    shape.inverse_time = round % 4 == 0; // where every block says its own
    std::string program = random_program(random, shape);
    if (!shape.inverse_time) program = without_most_feeds(program, random);
    // In some places nothing is changed, so that the source's own feed must come back there.
    std::set<std::uint32_t> left;
    for (int i = 0; i < 12; ++i)
      left.insert(std::uniform_int_distribution<std::uint32_t>(1, 40)(random));
    auto const changed = [&](auto const& mark) {
      auto const change = with_feeds(0.5, mark);
      return rewrite(program, [&](motion::Step& step, auto const& add) {
        return left.contains(step.place.line / 10) || change(step, add);
      });
    };
    auto const written = changed(as_other_feed);
    auto const afresh_there = changed([](motion::Step& step) { step.touched = true; });
    auto const apart = difference(course(afresh_there.text, dialect, 0.002),
                                  course(written.text, dialect, 0.002), 0.0015 * (shape.inch ? 25.4 : 1));
    if (!apart.empty()) FAIL(apart + "\n" + program + "--- written ---\n" + written.text);
    copied += written.count.copied;
    copied_if_touched += afresh_there.count.copied;
  }
  CHECK(2 * copied > 3 * copied_if_touched);
}
