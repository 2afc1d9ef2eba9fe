#include "grammar/cuts.hpp"

#include <catch2/catch.hpp>

#include <string_view>

using namespace restep::grammar;

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
