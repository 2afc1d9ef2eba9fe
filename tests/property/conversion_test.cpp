// A program in another control's words, and back again, makes the same cut; units are converted to the last
// digit and increments add up without drift.
#include "dialect/writer.hpp"
#include "interpret/reader.hpp"
#include "proof/agreement.hpp"
#include "proof/compare.hpp"
#include "random_program.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cmath>
#include <cstdint>
#include <random>
#include <rapidcheck.h>

using namespace restep;

namespace {

dialect::Dialect shipped(std::string const& name) {
  auto const loaded =
      dialect::load_dialect(fmt::format("{}/profiles/dialects/{}.toml", RESTEP_SOURCE_DIR, name));
  if (!loaded) FAIL(dialect::format(loaded.error()));
  return *loaded;
}

struct Converted {
  std::string text;
  std::string errors;
};

Converted convert(std::string_view program, dialect::Dialect const& from, dialect::Dialect const& to) {
  Converted converted;
  text::Findings findings;
  auto input = text::Input::from_memory(program);
  interpret::ProgramReader reader(input, from.read, findings);
  dialect::BlockWriter writer(to, input, [&](std::string_view text) { converted.text += text; }, findings,
                              {.verbatim = false});
  for (motion::Step step; reader.next(step);)
    writer.write(step);
  writer.finish();
  for (auto const& finding : findings.all())
    if (finding.severity == text::Severity::error) converted.errors += text::format(finding, "program");
  return converted;
}

/// What differs between two programs, in words; empty when nothing does.
std::string difference(std::string_view a, dialect::Dialect const& dialect_a, std::string_view b,
                       dialect::Dialect const& dialect_b, double tolerance) {
  text::Findings findings;
  auto input_a = text::Input::from_memory(a), input_b = text::Input::from_memory(b);
  interpret::ProgramReader reader_a(input_a, dialect_a.read, findings);
  interpret::ProgramReader reader_b(input_b, dialect_b.read, findings);
  proof::CompareRules rules;
  rules.tolerance = tolerance;
  auto const result = proof::compare_cuts(reader_a, reader_b, rules);
  if (findings.has_errors()) return text::format(findings.all().front(), "program");
  std::string text;
  if (result.path)
    text += fmt::format("lines {} and {}: {}\n", result.path->a.line, result.path->b.line, result.path->what);
  for (auto const& state : result.states)
    text += fmt::format("lines {} and {}: {}\n", state.a.line, state.b.line, state.what);
  return text;
}

std::string joined(std::vector<std::string> const& lines) {
  return fmt::format("{}\n", fmt::join(lines, "\n"));
}

/// What the digits and chords of a dialect may make of a way, mm.
double reach_of(dialect::Dialect const& d) {
  return proof::tolerances(d, motion::Units::mm).chord + 2 * d.resolution(motion::Units::mm);
}

} // namespace

TEST_CASE("Any program converted to another dialect and back makes the same cut") {
  auto const standard = shipped("rs274ngc");
  std::vector<dialect::Dialect> others;
  for (std::string const name :
       {"iso6983", "least-increment", "short-lines", "small-firmware-remarks", "small-firmware"})
    others.push_back(shipped(name));
  for (std::string const base : {"rs274ngc", "least-increment"}) {
    others.push_back(shipped(base));
    others.back().name = base + " with incremental moves";
    others.back().incremental_moves = true;
  }
  for (auto const& other : others) {
    INFO(other.name);
    CHECK(rc::check([&] {
      std::string const program = joined(property::any_program());
      auto const there = convert(program, standard, other);
      // A control that takes short lines only may refuse a program of long words.
      RC_PRE(there.errors.find("does not fit the control's") == std::string::npos);
      RC_ASSERT(there.errors == "");
      auto const back = convert(there.text, other, standard);
      RC_ASSERT(back.errors == "");
      RC_LOG() << program << "\n---- there\n" << there.text << "\n---- back\n" << back.text;
      RC_ASSERT(difference(program, standard, there.text, other, reach_of(other)) == "");
      RC_ASSERT(difference(there.text, other, back.text, standard, reach_of(standard)) == "");
      RC_ASSERT(difference(program, standard, back.text, standard, reach_of(other) + reach_of(standard)) ==
                "");
    }));
  }
}

// 1 inch is 25.4 mm exactly (ISO 31 and every standard since 1959).
TEST_CASE("Units are converted to within half a last digit of the target, either way") {
  auto const standard = shipped("rs274ngc");
  auto inches = standard, millimetres = standard;
  inches.name = "inches";
  inches.millimetre = false;
  millimetres.name = "millimetres";
  millimetres.inch = false;
  std::mt19937 random(4);
  auto const check = [&](bool from_inch, dialect::Dialect const& to, double mm_per_unit, int decimals) {
    std::string program = from_inch ? "G20 G90\nG0 Y0 Z0 X7\n" : "G21 G90\nG0 Y0 Z0 X7\n";
    std::vector<std::int64_t> counts{70'000}; // 1e-4 units
    for (int i = 0; i < 3000; ++i) {
      counts.push_back(std::uniform_int_distribution<std::int64_t>(-3'000'000, 3'000'000)(random));
      program += fmt::format("G1 X{}{}.{:04} F500\n", counts.back() < 0 ? "-" : "",
                             std::abs(counts.back()) / 10000, std::abs(counts.back()) % 10000);
    }
    auto const written = convert(program, standard, to);
    REQUIRE(written.errors == "");
    CHECK(written.text.find(from_inch ? "G21" : "G20") != std::string::npos);
    // The digits themselves, not what the reader makes of them.
    std::size_t at = 0;
    double const half = 0.5 * std::pow(10.0, -decimals) * (1 + 1e-9);
    int seen = 0;
    double last = 0;
    for (std::int64_t const count : counts) {
      double const meant = static_cast<double>(count) * (from_inch ? 25.4 : 1) / 1e4 / mm_per_unit;
      double const digit_rounded = std::round(meant * std::pow(10.0, decimals));
      if (digit_rounded == last) continue; // the same place again needs no word
      last = digit_rounded;
      at = written.text.find('X', at);
      REQUIRE(at != std::string::npos);
      double const found = std::stod(written.text.substr(++at));
      REQUIRE(std::abs(found - meant) <= half + 1e-12 * std::abs(meant));
      ++seen;
    }
    CHECK(seen > 2900);
    // Back again: both roundings, no more.
    auto const back = convert(written.text, to, from_inch ? inches : millimetres);
    double const own = 0.5 * (from_inch ? 25.4 : 1) * 1e-5, theirs = half * mm_per_unit;
    CHECK(difference(program, standard, back.text, standard, theirs + 10 * own) == "");
  };
  check(false, inches, 25.4, inches.decimals_inch);
  check(true, millimetres, 1, millimetres.decimals_mm);
}

TEST_CASE("A hundred thousand increments end where their sum says, in either unit") {
  auto const standard = shipped("rs274ngc");
  auto coarse = shipped("iso6983");
  coarse.decimals_mm = coarse.decimals_inch = 3; // one fewer than the program has
  std::mt19937 random(9);
  std::uniform_int_distribution<std::int64_t> increment(-99'999, 99'999); // 1e-4 units
  for (bool const inch : {false, true}) {
    constexpr int moves = 100'000;
    std::string program = inch ? "G20 G90\nG1 X0 Y0 Z0 F100\nG91\n" : "G21 G90\nG1 X0 Y0 Z0 F100\nG91\n";
    std::vector<std::int64_t> sums; // of X, 1e-4 units
    std::int64_t x = 0;
    for (int i = 0; i < moves; ++i) {
      std::int64_t step = increment(random);
      if (std::abs(x + step) > 5'000'000) step = -step;
      if (step == 0) step = 1;
      x += step;
      sums.push_back(x);
      program +=
          fmt::format("X{}{}.{:04}\n", step < 0 ? "-" : "", std::abs(step) / 10000, std::abs(step) % 10000);
    }
    auto input = text::Input::from_memory(program);
    text::Findings findings;
    interpret::ProgramReader reader(input, standard.read, findings);
    std::size_t i = 0;
    bool exact = true;
    for (motion::Step step; reader.next(step);) {
      auto const* m = motion::motion_of(step);
      if (m == nullptr || step.place.line < 4) continue;
      // Whole picometres divided once: the double nearest to the sum.
      std::int64_t const picometres = sums[i++] * (inch ? 2'540'000 : 100'000);
      exact = exact && m->to.x == static_cast<double>(picometres) / 1e9;
    }
    CHECK(i == moves);
    CHECK(exact);

    // Written as coordinates or as increments of fewer digits, the error of no place is more than half a
    // digit, the last no more than the first.
    for (bool const incremental : {false, true}) {
      coarse.incremental_moves = incremental;
      auto const written = convert(program, standard, coarse);
      CHECK((written.text.find("G91") != std::string::npos) == incremental);
      REQUIRE(written.errors == "");
      auto again = text::Input::from_memory(written.text);
      interpret::ProgramReader second(again, coarse.read, findings);
      double const half = coarse.resolution(inch ? motion::Units::inch : motion::Units::mm) / 2;
      std::size_t k = 0;
      double worst = 0, worst_at_end = 0;
      auto const meant = [&](std::size_t n) {
        return static_cast<double>(sums[n]) * (inch ? 25.4 : 1) / 1e4;
      };
      for (motion::Step step; second.next(step);) {
        auto const* m = motion::motion_of(step);
        if (m == nullptr || m->from.x == m->to.x || !motion::is_known(m->from)) continue;
        // Increments that round to nothing are left out.
        while (k < sums.size() && std::abs(meant(k) - m->to.x) > half * (1 + 1e-9)) {
          REQUIRE(std::abs(meant(k) - m->from.x) <= half * (1 + 1e-9));
          ++k;
        }
        REQUIRE(k < sums.size());
        worst = std::max(worst, std::abs(meant(k) - m->to.x));
        if (k + 1000 > sums.size()) worst_at_end = std::max(worst_at_end, std::abs(meant(k) - m->to.x));
        ++k;
      }
      CHECK(k + 5 > sums.size());
      CHECK(worst <= half * (1 + 1e-9));
      CHECK(worst_at_end <= half * (1 + 1e-9));
      CHECK(worst_at_end > 0.5 * half); // the check sees roundings
      CHECK_FALSE(findings.has_errors());
    }
  }
}
