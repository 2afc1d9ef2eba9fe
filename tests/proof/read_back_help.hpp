#pragma once

#include "interpret/reader.hpp"
#include "proof/read_back.hpp"

#include <catch2/catch.hpp>

#include <optional>
#include <string>
#include <string_view>

namespace restep::proof {

/// What the read-back says of an output when a program was meant.
struct Verdict {
  bool agreed = false;
  ReadBackResult result;
  std::optional<ReadBackFailure> failure;
};

/// Steps of `meant` (read by the default rules) against the bytes of `written`, handed over `piece` bytes at
/// a time.
inline Verdict read_back(std::string_view meant, std::string_view written,
                         dialect::Dialect const& dialect = dialect::Dialect{}, std::size_t piece = 7) {
  text::Input input = text::Input::from_memory(meant);
  text::Findings findings;
  interpret::ProgramReader reader(input, interpret::ReadRules{}, findings);
  ReadBack proof(dialect);
  motion::Step step;
  while (reader.next(step))
    proof.meant(step);
  REQUIRE_FALSE(findings.has_errors());
  for (std::size_t at = 0; at < written.size(); at += piece)
    proof.written(written.substr(at, piece));
  Verdict verdict;
  verdict.agreed = proof.finish();
  verdict.result = proof.result();
  verdict.failure = proof.failure();
  REQUIRE(verdict.agreed == !verdict.failure.has_value());
  return verdict;
}

/// The text with the first `from` replaced.
inline std::string with(std::string text, std::string_view from, std::string_view to) {
  std::size_t const at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

/// One contour of a bell yoke's edge round, with arcs in and out.
inline constexpr char const* contour = R"(G21 G90 G17
T3 M6
S8000 M3
M8
G0 X0 Y-20
G0 Z5
G1 Z-0.1 F200
G3 X5 Y-15 I0 J5 F400
G1 Y15
G2 X10 Y20 I5 J0
G1 X30
G2 X35 Y15 I0 J-5
G1 Y-20 Z-0.2
G0 Z5
M9
M5
M30
)";

} // namespace restep::proof
