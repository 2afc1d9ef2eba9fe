// Written and read again, a program makes the same moves.

#include "program.hpp"

#include <catch2/catch.hpp>

#include <random>

using namespace restep;
using namespace restep::dialect_test;

namespace {

/// Touches blocks at random, whole blocks at a time.
Stage touching(std::mt19937& random, double share) {
  return [&random, share, touched = false](motion::Step& step, auto const&) mutable {
    if (step.first_in_block) touched = std::bernoulli_distribution(share)(random);
    step.touched = touched;
    return true;
  };
}

} // namespace

TEST_CASE("a program written afresh makes the same moves", "[course]") {
  std::mt19937 random(11);
  auto const dialect = shipped("rs274ngc");
  for (int round = 0; round < 40; ++round) {
    auto const program = random_program(random, {.decimals = round % 4 == 3 ? 4 : 3, .inch = round % 4 == 3});
    auto const written = write_afresh(program, dialect);
    INFO(program << "---\n" << written.text);
    REQUIRE(written.errors() == "");
    REQUIRE(difference(course(program, dialect, 1e-6), course(written.text, dialect, 1e-6), 1e-6) == "");
  }
}

TEST_CASE("a program of which some blocks are touched makes the same moves", "[course]") {
  std::mt19937 random(12);
  auto const dialect = shipped("rs274ngc");
  for (int round = 0; round < 60; ++round) {
    auto const program = random_program(random, {.decimals = round % 4 == 3 ? 4 : 3, .inch = round % 4 == 3});
    auto const written = rewrite(program, touching(random, 0.02 + 0.01 * round));
    INFO(program << "---\n" << written.text);
    REQUIRE(difference(course(program, dialect, 1e-6), course(written.text, dialect, 1e-6), 1e-6) == "");
  }
}

TEST_CASE("digits the dialect does not have are rounded by half a digit at most", "[course]") {
  std::mt19937 random(13);
  auto const dialect = shipped("rs274ngc");
  for (int round = 0; round < 40; ++round) {
    auto const program = random_program(random, {.decimals = 6});
    auto const written = rewrite(program, touching(random, 0.3));
    INFO(program << "---\n" << written.text);
    REQUIRE(written.errors() == "");
    REQUIRE(difference(course(program, dialect, 3e-4), course(written.text, dialect, 3e-4), 0.5e-4 + 1e-7) ==
            "");
  }
}

TEST_CASE("moves inserted and taken back leave the program's own moves as they were", "[course]") {
  std::mt19937 random(14);
  auto const dialect = shipped("rs274ngc");
  for (int round = 0; round < 40; ++round) {
    auto const program = random_program(random, {.cycles = false});
    auto const written = rewrite(program, [&](motion::Step& step, auto const& add) {
      auto const* m = motion::motion_of(step);
      if (m == nullptr || !motion::is_known(m->from) || std::bernoulli_distribution(0.9)(random)) return true;
      auto extra = step;
      extra.generated = true;
      auto const up = motion::Vec3{m->from.x, m->from.y, m->from.z + 20};
      extra.event = motion::Motion{.path = motion::PathKind::rapid, .from = m->from, .to = up};
      add(extra);
      extra.event = motion::Motion{.path = motion::PathKind::rapid, .from = up, .to = m->from};
      add(extra);
      return true;
    });
    INFO(program << "---\n" << written.text);
    auto motions = course(written.text, dialect, 1e-6);
    auto const own = course(program, dialect, 1e-6);
    // Take the excursions out again: each is a rapid straight up by 20 and the rapid back.
    std::vector<motion::Motion> rest;
    for (std::size_t i = 0; i < motions.size(); ++i) {
      bool const excursion = i + 1 < motions.size() && motions[i].path == motion::PathKind::rapid &&
                             std::abs(motions[i].to.z - motions[i].from.z - 20) < 1e-6 &&
                             motions[i + 1].path == motion::PathKind::rapid &&
                             std::abs(motions[i + 1].to.z - motions[i].from.z) < 1e-6;
      if (excursion) {
        ++i;
      } else {
        rest.push_back(motions[i]);
      }
    }
    REQUIRE(difference(own, rest, 1e-6) == "");
  }
}

TEST_CASE("a program written in the manner of ISO 6983 makes the same moves", "[course]") {
  std::mt19937 random(15);
  auto const from = shipped("rs274ngc");
  auto const to = shipped("iso6983");
  for (int round = 0; round < 40; ++round) {
    auto const program = random_program(random, {.decimals = round % 4 == 3 ? 4 : 3, .inch = round % 4 == 3});
    auto const written = rewrite(program, from, to);
    INFO(program << "---\n" << written.text);
    REQUIRE(written.errors() == "");
    double const digit = to.resolution(round % 4 == 3 ? motion::Units::inch : motion::Units::mm);
    REQUIRE(difference(course(program, from, 1e-6), course(written.text, to, 1e-6), digit / 2 + 1e-7) == "");
  }
}

TEST_CASE("writing afresh twice changes nothing more", "[course]") {
  std::mt19937 random(16);
  auto const dialect = shipped("rs274ngc");
  for (int round = 0; round < 20; ++round) {
    auto const once = write_afresh(random_program(random, {}), dialect).text;
    REQUIRE(write_afresh(once, dialect).text == once);
  }
}
