#pragma once

#include "grammar/parse.hpp"

#include <catch2/catch.hpp>

#include <ostream>
#include <string>

namespace restep::test {

struct Refusal {
  text::Span span;
  std::string code;
  std::string message;
  std::string hint;

  friend bool operator==(Refusal const&, Refusal const&) = default;
  friend std::ostream& operator<<(std::ostream& out, Refusal const& r) {
    return out << r.span.begin << "-" << r.span.end << " " << r.code << ": " << r.message << " | " << r.hint;
  }
};

inline Refusal refusal(std::string const& line) {
  grammar::WordBlock plain;
  INFO(line);
  CHECK_FALSE(grammar::parse_plain(line, plain));
  auto const block = grammar::parse_block(line);
  if (block) return {{}, "accepted", line, ""};
  return {block.error().span, block.error().code, block.error().message, block.error().hint};
}

} // namespace restep::test
