#include "read_program.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
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

/// A block of words that stand in any order: a move with whatever else may be in its block.
rc::Gen<Words> any_block() {
  return rc::gen::exec([] {
    auto const length = rc::gen::inRange(-2'000'000, 2'000'000);
    Words words;
    auto const maybe = [&](std::string word) {
      if (*rc::gen::arbitrary<bool>()) words.push_back(std::move(word));
    };
    words.push_back(*rc::gen::element<std::string>("G0", "G1"));
    words.push_back("X" + length_text(*length));
    maybe("Y" + length_text(*length));
    maybe("Z" + length_text(*length));
    words.push_back("F" + std::to_string(*rc::gen::inRange(1, 3000)));
    maybe("S" + std::to_string(*rc::gen::inRange(0, 9000)));
    maybe("T" + std::to_string(*rc::gen::inRange(0, 40)));
    maybe(*rc::gen::element<std::string>("M3", "M4", "M5"));
    maybe(*rc::gen::element<std::string>("M7", "M8", "M9"));
    maybe(*rc::gen::element<std::string>("G90", "G91"));
    maybe(*rc::gen::element<std::string>("G20", "G21"));
    maybe(*rc::gen::element<std::string>("G17", "G18", "G19"));
    maybe(*rc::gen::element<std::string>("G61", "G64"));
    return words;
  });
}

std::string joined(Words const& words, std::string const& between) {
  std::string line;
  for (auto const& word : words)
    line += (line.empty() ? "" : between) + word;
  return line + "\n";
}

std::vector<motion::Event> events_of(std::string const& program) {
  auto const reading = read("G0 X0 Y0 Z0 F100\n" + program);
  std::vector<motion::Event> events;
  for (auto const& step : reading.steps)
    events.push_back(step.event);
  return events;
}

/// NaN is not equal to itself: these programs have known positions only, so that == means same.
bool same(std::vector<motion::Event> const& a, std::vector<motion::Event> const& b) {
  return std::equal(a.begin() + 1, a.end(), b.begin() + 1, b.end());
}

} // namespace

TEST_CASE("The order of the words in a block does not matter") {
  CHECK(rc::check([] {
    auto const blocks = *rc::gen::container<std::vector<Words>>(any_block());
    std::string program;
    std::string shuffled;
    for (auto words : blocks) {
      program += joined(words, " ");
      int const turns = *rc::gen::inRange(0, 20);
      for (int i = 0; i < turns; ++i)
        std::swap(words[static_cast<std::size_t>(*rc::gen::inRange(0, static_cast<int>(words.size())))],
                  words[0]);
      shuffled += joined(words, " ");
    }
    RC_ASSERT(same(events_of(program), events_of(shuffled)));
  }));
}

TEST_CASE("Spacing, letter case and block numbers do not matter") {
  CHECK(rc::check([] {
    auto const blocks = *rc::gen::container<std::vector<Words>>(any_block());
    std::string program;
    std::string other;
    int number = *rc::gen::inRange(0, 900);
    for (auto const& words : blocks) {
      program += joined(words, " ");
      auto line = joined(words, *rc::gen::element<std::string>("", " ", "\t", "  "));
      if (*rc::gen::arbitrary<bool>())
        for (char& c : line)
          if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
      if (*rc::gen::arbitrary<bool>()) line = fmt::format("N{} {}", number += 10, line);
      other += line;
    }
    RC_ASSERT(same(events_of(program), events_of(other)));
  }));
}

TEST_CASE("Incremental and absolute writing of one path give the same motions") {
  CHECK(rc::check([] {
    std::string absolute = "G90\n";
    std::string incremental = "G91\n";
    int at[3] = {0, 0, 0};
    int const moves = *rc::gen::inRange(1, 30);
    for (int i = 0; i < moves; ++i) {
      auto const* code = *rc::gen::element("G0", "G1");
      absolute += code;
      incremental += code;
      for (int axis = 0; axis < 3; ++axis) {
        int const step = *rc::gen::inRange(-500'000, 500'000);
        at[axis] += step;
        absolute += static_cast<char>('X' + axis) + length_text(at[axis]);
        incremental += static_cast<char>('X' + axis) + length_text(step);
      }
      absolute += "\n";
      incremental += "\n";
    }
    auto const a = events_of(absolute);
    auto const b = events_of(incremental);
    RC_ASSERT(same(a, b));
  }));
}

TEST_CASE("Incremental and absolute writing of one arc give the same motion") {
  CHECK(rc::check([] {
    int const r = *rc::gen::inRange(1, 500'000);
    int const x = *rc::gen::inRange(-500'000, 500'000);
    auto const* code = *rc::gen::element("G2", "G3");
    auto const start = fmt::format("G0 X{} Y0\n", length_text(x));
    auto const a = events_of(
        start + fmt::format("{} X{} Y{} I{}\n", code, length_text(x + r), length_text(r), length_text(r)));
    auto const b = events_of(
        start + fmt::format("G91 {} X{} Y{} I{}\n", code, length_text(r), length_text(r), length_text(r)));
    RC_ASSERT(same(a, b));
  }));
}

TEST_CASE("The inch and the mm form of a length are the same place") {
  CHECK(rc::check([] {
    // 1e-4 inch is 2.54e-3 mm exactly
    int const inch = *rc::gen::inRange(-500'000, 500'000);
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
    auto const blocks = *rc::gen::container<std::vector<Words>>(any_block());
    std::string program = "G0 X0 Y0 Z0 F100\n";
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
