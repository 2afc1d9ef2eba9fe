#include "read_program.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <rapidcheck.h>

using namespace restep;
using test::read;

namespace {

/// A length in 1e-4 mm, as a program writes it.
std::string length_text(int tenths_of_microns) {
  return fmt::format("{}{}.{:04}", tenths_of_microns < 0 ? "-" : "", std::abs(tenths_of_microns) / 10000,
                     std::abs(tenths_of_microns) % 10000);
}

using Words = std::vector<std::string>;

/// A number as a program may write it: plain, as an expression, or out of parameter #7, which the programs
/// set.
std::string value_text(int tenths_of_microns) {
  std::string const plain = length_text(tenths_of_microns);
  switch (restep::property::draw(0, 8)) {
  case 0: return "[" + plain + "+2*[1-SIN[30]]]";
  case 1: return "[ABS[" + plain + "]]";
  case 2: return "[" + plain + " MOD 50]";
  case 3: return "[" + plain + "/#7]";
  case 4: return "#7";
  default: return plain;
  }
}

/// A move with whatever else may be in its block.
Words any_move() {
  auto const length = rc::gen::inRange(-2'000'000, 2'000'000);
  Words words;
  auto const maybe = [&](std::string word) {
    if (*rc::gen::arbitrary<bool>()) words.push_back(std::move(word));
  };
  words.push_back(*rc::gen::element<std::string>("G0", "G1"));
  words.push_back("X" + value_text(*length));
  maybe("Y" + value_text(*length));
  maybe("Z" + length_text(*length));
  words.push_back("F" + std::to_string(restep::property::draw(1, 3000)));
  maybe("S" + std::to_string(restep::property::draw(0, 9000)));
  maybe("T" + std::to_string(restep::property::draw(0, 40)));
  maybe(*rc::gen::element<std::string>("M3", "M4", "M5"));
  maybe(*rc::gen::element<std::string>("M7", "M8", "M9"));
  maybe(*rc::gen::element<std::string>("G90", "G91"));
  maybe(*rc::gen::element<std::string>("G20", "G21"));
  maybe(*rc::gen::element<std::string>("G17", "G18", "G19"));
  maybe(*rc::gen::element<std::string>("G61", "G64"));
  // Takes effect behind the block, wherever it stands in it.
  maybe("#7=" + std::to_string(restep::property::draw(1, 9)));
  return words;
}

/// An arc in any plane, by its radius or as a full circle about its centre; incremental, so that it is one
/// from wherever it starts.
Words any_arc() {
  auto const length = rc::gen::inRange(-300'000, 300'000);
  constexpr std::array<std::array<char const*, 5>, 3> planes{
      {{"G17", "X", "Y", "I", "J"}, {"G18", "Z", "X", "K", "I"}, {"G19", "Y", "Z", "J", "K"}}};
  auto const [plane, a, b, i, j] = planes[static_cast<std::size_t>(restep::property::draw(0, 3))];
  Words words{"G91", plane, *rc::gen::element<std::string>("G2", "G3"), "F200"};
  int const u = *length, v = restep::property::draw(1, 300'000);
  if (*rc::gen::arbitrary<bool>()) {
    int const radius =
        static_cast<int>(std::ceil(std::hypot(u, v) / 2)) + restep::property::draw(10, 100'000);
    words.insert(words.end(), {a + length_text(u), b + length_text(v), "R" + length_text(radius)});
  } else {
    words.insert(words.end(), {a + std::string("0"), i + length_text(u), j + length_text(v)});
  }
  return words;
}

/// A cycle with all its words; a cycle's first block, so that nothing is taken from one before.
Words any_cycle() {
  auto const length = rc::gen::inRange(-500'000, 500'000);
  std::string const code = *rc::gen::element<std::string>("G81", "G82", "G83", "G85", "G89");
  Words words{"G90",
              "G17",
              code,
              "X" + length_text(*length),
              "Y" + length_text(*length),
              "Z" + length_text(restep::property::draw(-300'000, -10'000)),
              "R" + length_text(restep::property::draw(0, 50'000)),
              "F120",
              *rc::gen::element<std::string>("G98", "G99")};
  if (code == "G82" || code == "G89") words.push_back("P0.5");
  if (code == "G83") words.push_back("Q" + length_text(restep::property::draw(10'000, 50'000)));
  if (*rc::gen::arbitrary<bool>()) words.push_back("L" + std::to_string(restep::property::draw(1, 4)));
  return words;
}

/// A block of words that stand in any order.
rc::Gen<Words> any_block() {
  return rc::gen::exec([] {
    switch (restep::property::draw(0, 8)) {
    case 0: return any_arc();
    case 1: return any_cycle();
    case 2: return Words{"G4", "P" + length_text(restep::property::draw(0, 100'000))};
    case 3: return Words{"G92", "X" + length_text(restep::property::draw(-100'000, 100'000)), "Z2.5"};
    default: return any_move();
    }
  });
}

std::string joined(Words const& words, std::string const& between) {
  std::string line;
  for (auto const& word : words)
    line += (line.empty() ? "" : between) + word;
  return line + "\n";
}

/// What happens, without remarks and without events that speak of places or words not told: NaN is not equal
/// to itself.
std::vector<motion::Event> events_of(std::string const& program) {
  auto const reading = read("G0 X0 Y0 Z0 F100 #7=2\n" + program);
  RC_ASSERT(reading.error_codes().empty());
  std::vector<motion::Event> events;
  for (auto const& step : reading.steps)
    if (!std::holds_alternative<motion::Comment>(step.event) && step.event == step.event)
      events.push_back(step.event);
  return events;
}

} // namespace

TEST_CASE("The order of the words in a block does not matter") {
  CHECK(rc::check([] {
    auto const blocks = *rc::gen::container<std::vector<Words>>(any_block());
    std::string program;
    std::string shuffled;
    for (auto words : blocks) {
      program += joined(words, " ");
      int const turns = restep::property::draw(0, 20);
      for (int i = 0; i < turns; ++i)
        std::swap(words[static_cast<std::size_t>(restep::property::draw(0, static_cast<int>(words.size())))],
                  words[0]);
      shuffled += joined(words, " ");
    }
    RC_ASSERT(events_of(program) == events_of(shuffled));
  }));
}

TEST_CASE("Spacing, letter case and block numbers do not matter") {
  CHECK(rc::check([] {
    auto const blocks = *rc::gen::container<std::vector<Words>>(any_block());
    std::string program;
    std::string other;
    int number = restep::property::draw(0, 900);
    for (auto const& words : blocks) {
      program += joined(words, " ");
      auto line = joined(words, *rc::gen::element<std::string>("", " ", "\t", "  ", " (a remark) "));
      if (*rc::gen::arbitrary<bool>())
        for (char& c : line)
          if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
      if (*rc::gen::arbitrary<bool>()) line = fmt::format("N{} {}", number += 10, line);
      other += line;
    }
    RC_ASSERT(events_of(program) == events_of(other));
  }));
}

TEST_CASE("Incremental and absolute writing of one path give the same motions") {
  CHECK(rc::check([] {
    std::string absolute = "G90\n";
    std::string incremental = "G91\n";
    int at[3] = {0, 0, 0};
    int const moves = restep::property::draw(1, 30);
    for (int i = 0; i < moves; ++i) {
      auto const* code = *rc::gen::element("G0", "G1");
      absolute += code;
      incremental += code;
      for (int axis = 0; axis < 3; ++axis) {
        int const step = restep::property::draw(-500'000, 500'000);
        at[axis] += step;
        absolute += static_cast<char>('X' + axis) + length_text(at[axis]);
        incremental += static_cast<char>('X' + axis) + length_text(step);
      }
      absolute += "\n";
      incremental += "\n";
    }
    auto const a = events_of(absolute);
    auto const b = events_of(incremental);
    RC_ASSERT(a == b);
  }));
}

TEST_CASE("Incremental and absolute writing of one arc give the same motion") {
  CHECK(rc::check([] {
    int const r = restep::property::draw(1, 500'000);
    int const x = restep::property::draw(-500'000, 500'000);
    auto const* code = *rc::gen::element("G2", "G3");
    auto const start = fmt::format("G0 X{} Y0\n", length_text(x));
    auto const a = events_of(
        start + fmt::format("{} X{} Y{} I{}\n", code, length_text(x + r), length_text(r), length_text(r)));
    auto const b = events_of(
        start + fmt::format("G91 {} X{} Y{} I{}\n", code, length_text(r), length_text(r), length_text(r)));
    RC_ASSERT(a == b);
  }));
}

TEST_CASE("The inch and the mm form of a length are the same place") {
  CHECK(rc::check([] {
    // 1e-4 inch is 2.54e-3 mm exactly
    int const inch = restep::property::draw(-500'000, 500'000);
    auto const mm = static_cast<long long>(inch) * 254;
    auto const mm_text =
        fmt::format("{}{}.{:05}", mm < 0 ? "-" : "", std::abs(mm) / 100000, std::abs(mm) % 100000);
    auto const by_inch = read("G20 G0 X" + length_text(inch) + "\n").position.x;
    auto const by_mm = read("G21 G0 X" + mm_text + "\n").position.x;
    RC_ASSERT(by_inch == by_mm);
  }));
}

TEST_CASE("The position of one block is where the next one starts") {
  CHECK(rc::check([] {
    auto const blocks = *rc::gen::container<std::vector<Words>>(rc::gen::exec(any_move));
    std::string program = "G0 X0 Y0 Z0 F100 #7=2\n";
    for (auto const& words : blocks)
      program += joined(words, " ");
    auto const motions = read(program).motions();
    for (std::size_t i = 1; i < motions.size(); ++i)
      RC_ASSERT(motions[i].from == motions[i - 1].to);
  }));
}

TEST_CASE("Whatever stands in a program, every line gives steps and reading comes to its end") {
  CHECK(rc::check([] {
    auto const lines = *rc::gen::container<std::vector<std::string>>(rc::gen::container<std::string>(
        rc::gen::elementOf(std::string("GMXYZIJKRFSTPQLHDNO0123456789.-+ /()#[]%;="))));
    std::string program;
    for (auto const& line : lines)
      program += line + "\n";
    auto const reading = read(program);
    std::uint32_t line = 0;
    for (auto const& step : reading.steps) {
      RC_ASSERT(step.place.line == (step.first_in_block ? line + 1 : line));
      line = step.place.line;
    }
    RC_ASSERT(line == lines.size());
  }));
}
