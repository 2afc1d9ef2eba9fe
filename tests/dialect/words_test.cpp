// How blocks written afresh are worded.

#include "program.hpp"

#include <catch2/catch.hpp>

#include <string>

using namespace restep;
using namespace restep::dialect_test;

namespace {

std::string afresh(std::string const& program) {
  return write_afresh(program, shipped("rs274ngc")).text;
}
std::string in_iso(std::string const& program) {
  auto const written = rewrite(program, shipped("rs274ngc"), shipped("iso6983"));
  INFO(written.errors());
  CHECK(written.errors() == "");
  return written.text;
}

std::string const words_head = "G21 G90\nG0 X0 Y0 Z5\n";
std::string const fresh_head = "G17 G21 G80 G90 G94\nG0 X0 Y0 Z5\n";

} // namespace

TEST_CASE("only words that change something are written", "[words]") {
  CHECK(afresh(words_head + "G1 X1 Y0 Z5 F100\nG1 X1 Y2 Z5 F100\nG1 X1 Y2 Z5 F100\nG0 X1 Y3\nM30\n") ==
        fresh_head + "G1 X1 F100\nY2\nG0 Y3\nM30\n");
}

TEST_CASE("incremental moves are written as the places they lead to", "[words]") {
  CHECK(afresh(words_head + "G91 G1 X1 F100\nX1\nG90 X1\nM30\n") == fresh_head + "G1 X1 F100\nX2\nX1\nM30\n");
}

TEST_CASE("incremental sums do not drift", "[words]") {
  std::string program = "G21 G91\nG90 G0 X0 Y0 Z0\nG91\n";
  for (int i = 0; i < 1000; ++i)
    program += "G1 X0.00004 F100\n";
  auto const motions = course(afresh(program + "G90\nM30\n"), shipped("rs274ngc"), 0);
  CHECK(motions.back().to.x == Approx(0.04).margin(0.00005));
}

TEST_CASE("units stand in a block of their own and the feed is stated behind them", "[words]") {
  CHECK(afresh("G21 G90\nG0 X0 Y0 Z5\nG1 X1 F254\nG20\nG1 X1 F10\nM30\n") ==
        fresh_head + "G1 X1 F254\nG20\nX1 F10\nM30\n");
}

TEST_CASE("S and M3, T and M6 share a block, other actions do not", "[words]") {
  CHECK(afresh("T2 M6\nS900 M3\nM8\nM7\nM5 M9\nM30\n") ==
        "G17 G21 G80 G90 G94\nT2 M6\nS900 M3\nM8\nM7\nM5\nM9\nM30\n");
}

TEST_CASE("a remark stays beside its block, and beside nothing else", "[words]") {
  CHECK(afresh("(bell)\nG21 G90\nG0 X1 (to the yoke)\nM30\n") ==
        "(bell)\nG17 G21 G80 G90 G94\nG0 X1 (to the yoke)\nM30\n");
}

TEST_CASE("remarks hold only what the control can take", "[words]") {
  auto const small = shipped("small-firmware-remarks");
  auto const say = [&](std::string const& text, dialect::Dialect const& to) {
    return write_steps({generated(motion::Comment{text, false})}, to).text;
  };
  CHECK(say("a (b) c", shipped("rs274ngc")) == "(a [b] c)\n");
  CHECK(say("a (b) c", small) == "; a (b) c\n");
  CHECK(say("6\xC2\xB5m\tround", small) == "; 6?m round\n");
  auto silent = small;
  silent.comments = false;
  CHECK(say("anything", silent).empty());
}

TEST_CASE("a message is a message where the control shows it", "[words]") {
  auto const message = generated(motion::Comment{"insert T3", true});
  CHECK(write_steps({message}, shipped("rs274ngc")).text == "(MSG,insert T3)\n");
  CHECK(write_steps({message}, shipped("small-firmware-remarks")).text == "; insert T3\n");
}

TEST_CASE("a long remark is cut into lines, a long block loses its blanks first", "[words]") {
  auto to = shipped("small-firmware-remarks");
  to.max_line_length = 40;
  std::string const words = "guards closed, eye protection on: hard chips fly and burn";
  auto const written = write_steps({generated(motion::Comment{words, false})}, to);
  CHECK(written.text == "; guards closed, eye protection on: hard\n; chips fly and burn\n");
  motion::Motion const move{
      .path = motion::PathKind::line, .to = {-1000.125, -1000.125, -1000.125}, .feed = 1234.5};
  auto const packed = write_steps({generated(move)}, to);
  CHECK(packed.errors() == "");
  CHECK(packed.text == "G21 G90\nG1X-1000.125Y-1000.125Z-1000.125F1234.5\n");
}

TEST_CASE("a block of exactly the length that the control takes is written, one more character is not",
          "[words]") {
  auto to = shipped("rs274ngc");
  to.max_line_length = 40;
  // "G1X-1000.125Y-1000.125Z-1000.1251F1234.5" behind the modes has 40 characters.
  motion::Motion move{
      .path = motion::PathKind::line, .to = {-1000.125, -1000.125, -1000.1251}, .feed = 1234.5};
  auto const written = write_steps({generated(move)}, to);
  CHECK(written.errors() == "");
  CHECK(written.text.substr(written.text.find('\n') + 1) == "G1X-1000.125Y-1000.125Z-1000.1251F1234.5\n");
  move.to.y = -1000.1251;
  CHECK(write_steps({generated(move)}, to).first(text::Severity::error) == "block-too-long");
}

TEST_CASE("a number before the block takes of its room", "[words]") {
  auto to = shipped("rs274ngc");
  to.max_line_length = 40;
  to.line_numbers = true;
  to.line_number_step = 1;
  std::string program;
  for (int i = 0; i < 2000; ++i)
    program +=
        i % 2 == 0 ? "G1 X-1000.125 Y-100.125 Z-100.1251 F4.25\n" : "G0 X-900.125 Y-900.125 Z-900.125\n";
  auto from = shipped("rs274ngc");
  from.name = "other";
  auto const written = rewrite("G21 G90\n" + program + "M30\n", from, to);
  CHECK(written.errors() == "");
  std::size_t longest = 0;
  for (std::size_t at = 0, end; (end = written.text.find('\n', at)) != std::string::npos; at = end + 1)
    longest = std::max(longest, end - at);
  CHECK(longest == 40);
}

TEST_CASE("a long message is told in several, none longer than the control's lines", "[words]") {
  auto to = shipped("rs274ngc");
  to.max_line_length = 40;
  auto const message =
      generated(motion::Comment{"put the plate on the part, clip the lead to the tool, then start", true});
  CHECK(write_steps({message}, to).text ==
        "(MSG,put the plate on the part, clip)\n(MSG,the lead to the tool, then start)\n");
}

TEST_CASE("a block that cannot be made short enough is refused", "[words]") {
  auto to = shipped("rs274ngc");
  to.max_line_length = 40;
  motion::Motion const move{
      .path = motion::PathKind::line, .to = {-1000.1251, -1000.1251, -1000.1251}, .feed = 1234.567};
  CHECK(write_steps({generated(move)}, to).first(text::Severity::error) == "block-too-long");
}

TEST_CASE("cycles are written whole, in the level they return to, and end with G80", "[words]") {
  CHECK(afresh(words_head + "G98 G81 X1 Y2 Z-3 R1 F80\nX4\nG99 Y6\nG80\nG0 Z9\nM30\n") ==
        fresh_head +
            "G98 G81 X1 Y2 Z-3 R1 F80\nG98 G81 X4 Y2 Z-3 R1\nG99 G81 X4 Y6 Z-3 R1\nG80\nG0 Z9\nM30\n");
}

TEST_CASE("a touched hole in a copied series comes up to the height the series did", "[words]") {
  std::string const program = words_head + "G98 G81 X1 Y2 Z-3 R1 F80\nX4\nX5\nX6\nG80\nG0 X9\nM30\n";
  auto const written = rewrite(program, [](motion::Step& step, auto const&) {
    step.touched = step.place.line == 5;
    return true;
  });
  auto const dialect = shipped("rs274ngc");
  INFO(written.text);
  CHECK(difference(course(program, dialect, 0), course(written.text, dialect, 0), 1e-9).empty());
}

TEST_CASE("a retract to the reference point is worded so that nothing else moves", "[words]") {
  CHECK(afresh(words_head + "G91 G28 Z0\nG90\nG0 X5\nM30\n") == fresh_head + "G91 G28 Z0\nG90\nG0 X5\nM30\n");
  CHECK(afresh(words_head + "G53 G0 Z-2\nG0 X5\nM30\n") == fresh_head + "G53 G0 Z-2\nG0 X5\nM30\n");
}

TEST_CASE("an arc in another plane names the plane, the next one names it again", "[words]") {
  CHECK(afresh(words_head + "G18 G2 X10 Z5 I5 K0 F100\nG17 G3 X10 Y4 I0 J2\nM30\n") ==
        fresh_head + "G18 G2 X10 I5 F100\nG17 G3 Y4 J2\nM30\n");
}

TEST_CASE("a program in the manner of ISO 6983 has percent lines, a number, points and G71", "[words]") {
  CHECK(in_iso("(clock bezel)\nG21 G90\nG0 X1 Y2.5\nG4 P0.5\nM30\n") ==
        "%\r\nO0001\r\nN10 (clock bezel)\r\nN20 G17 G71 G80 G90 G94\r\nN30 G00 X1. Y2.5\r\nN40 G04 "
        "P500\r\nN50 M30\r\n%"
        "\r\n");
  CHECK(
      in_iso("(clock bezel)\nO77\nG21 G90\nG0 X1\nM30\n").starts_with("%\r\nO0077\r\nN10 (clock bezel)\r\n"));
}

TEST_CASE("behind a block with block delete nothing is taken for granted", "[words]") {
  std::string const program = "G21 G90\nG0 X0 Y0 Z5\n/G0 X7\nG0 X9 Y1\nG0 X9 Y2\nM30\n";
  CHECK(afresh(program) == fresh_head + "/X7\nG17 G21 G90 G94\nG0 X9 Y1 Z5\nY2\nM30\n");
  auto const written = rewrite(program, [](motion::Step& step, auto const&) {
    step.touched = step.place.line == 4;
    return true;
  });
  CHECK(written.text == "G21 G90\nG0 X0 Y0 Z5\n/G0 X7\nG17 G21 G90 G94\nG0 X9 Y1 Z5\nG0 X9 Y2\nM30\n");
}

TEST_CASE("a move of a rotary axis can only be copied", "[words]") {
  std::string const program = words_head + "G1 X1 A10 F100\nM30\n";
  CHECK(rewrite(program).text == program);
  CHECK(write_afresh(program, shipped("rs274ngc")).first(text::Severity::error) == "rotary-move");
}

TEST_CASE("a chain that is broken before an arc is refused rather than cut", "[words]") {
  motion::Motion const move{.path = motion::PathKind::rapid, .to = {0, 0, 0}};
  motion::Motion const arc{
      .path = motion::PathKind::arc_ccw, .from = {1, 0, 0}, .to = {0, 1, 0}, .feed = 100};
  CHECK(write_steps({generated(move), generated(arc)}, shipped("rs274ngc")).first(text::Severity::error) ==
        "broken-course");
}
