#include "grammar/cuts.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>

#include <cstddef>
#include <rapidcheck.h>
#include <string>
#include <string_view>

using namespace restep::grammar;
using restep::property::draw;

namespace {

std::size_t bytes_taken(std::string_view text, CutRules const& rules) {
  CutLines lines;
  lines.value = {};
  return parse_cuts(text, rules, lines);
}

} // namespace

// A negative F is an error (common practice, no source; tests/standards says so of the reader of blocks):
// this tier must leave it to the others.
TEST_CASE("where no feed may be said again, none is taken, not even the least negative one", "[grammar]") {
  CHECK(bytes_taken("X1. F-0.000000001\n", {}) == 0);
  CHECK(bytes_taken("X1. F250.\n", {}) == 0);
}

TEST_CASE("the feed in force may be said again, and no other", "[grammar]") {
  CutRules rules;
  rules.feed = 250'000'000'000;
  CHECK(bytes_taken("X1. F250.\n", rules) == 10);
  CHECK(bytes_taken("X1. F250.000000001\n", rules) == 0);
}

namespace {

/// A line of axis words whose characters a reader may take for those of the line before.
std::string drawn_line(std::string const& before) {
  if (!before.empty() && draw(0, 4) > 0) {
    std::string line = before;
    for (char& c : line)
      if (c >= '0' && c <= '9' && draw(0, 2) == 1) c = static_cast<char>('0' + draw(0, 10));
    // Now and then one character is another one.
    if (draw(0, 6) == 1)
      line[static_cast<std::size_t>(draw(0, static_cast<int>(line.size())))] = "0.-+ XYZFGN\tA"[draw(0, 13)];
    return line;
  }
  std::string line;
  auto const digits = [&](int least, int most) {
    for (int count = draw(least, most + 1); count > 0; --count)
      line += static_cast<char>('0' + draw(0, 10));
  };
  if (draw(0, 3) == 1) {
    line += 'N';
    digits(1, 5);
    line += ' ';
  }
  if (draw(0, 4) == 1) line += draw(0, 2) == 1 ? "G1 " : "G01";
  for (char const axis : {'X', 'Y', 'Z'}) {
    if (draw(0, 4) == 1) continue;
    line += axis;
    line += std::string(1, "-+ "[draw(0, 3)]);
    if (line.back() == ' ') line.pop_back();
    digits(draw(0, 2), 4);
    if (draw(0, 5) > 0) line += '.';
    digits(0, draw(0, 3) == 1 ? 9 : 4);
    line += std::string(static_cast<std::size_t>(draw(0, 3)), ' ');
  }
  if (draw(0, 5) == 1) line += "F250.";
  return line;
}

} // namespace

TEST_CASE("lines are read together as each is read alone, however much they look alike", "[grammar]") {
  CHECK(restep::property::holds_often(5000, [] {
    CutRules rules;
    rules.feed = 250'000'000'000;
    rules.needs_points = draw(0, 4) == 1;
    std::string const line_end = draw(0, 3) == 1 ? "\r\n" : "\n";
    std::string text, before;
    for (int i = 0; i < 40; ++i) {
      before = drawn_line(before);
      text += before + line_end;
    }
    text += std::string(80, '%'); // a shape is looked for far in front of the end only
    CutLines together, alone;
    together.value = alone.value = {};
    std::size_t const bytes = parse_cuts(text, rules, together);
    std::size_t at = 0;
    for (std::size_t i = 0; i < together.size; ++i) {
      // Nothing else is in front of it or behind it.
      std::size_t const end = text.find('\n', at) + 1;
      RC_ASSERT(parse_cuts(std::string_view(text).substr(at, end - at), rules, alone) == end - at);
      for (std::size_t axis = 0; axis < 3; ++axis) {
        RC_ASSERT(together.value[axis][i + 1] == alone.value[axis][1]);
        alone.value[axis][0] = alone.value[axis][1];
      }
      RC_ASSERT(together.lines[i].begin == at);
      RC_ASSERT(together.lines[i].end - at == alone.lines[0].end);
      RC_ASSERT((together.names_code || !alone.names_code));
      at = end;
    }
    RC_ASSERT(at == bytes);
    if (together.size < 40) RC_ASSERT(parse_cuts(std::string_view(text).substr(at), rules, alone) == 0);
  }));
}
