#pragma once

#include "read_program.hpp"

#include <catch2/catch.hpp>

#include <string>
#include <vector>

namespace restep::test {

/// "severity code: message | hint" of the first finding with this code, or what was found instead.
inline std::string said(std::string const& program, std::string const& code,
                        interpret::ReadRules const& rules = {}) {
  auto const reading = read(program, rules);
  std::string others;
  for (auto const& finding : reading.findings.all()) {
    if (finding.code != code) {
      others += finding.code + " ";
      continue;
    }
    CHECK(finding.line > 0);
    auto const severity = finding.severity == text::Severity::error     ? "error"
                          : finding.severity == text::Severity::warning ? "warning"
                                                                        : "note";
    return fmt::format("{} {}: {} | {}", severity, finding.code, finding.message, finding.hint);
  }
  return "not said: " + code + "; found: " + others;
}

struct Case {
  char const* program;
  char const* code;
  std::string message;
  std::string hint;
};

inline void check(std::vector<Case> const& cases, interpret::ReadRules const& rules = {},
                  std::string const& severity = "error") {
  for (Case const& one : cases) {
    INFO(one.program);
    CHECK(said(one.program, one.code, rules) ==
          fmt::format("{} {}: {} | {}", severity, one.code, one.message, one.hint));
  }
}

} // namespace restep::test
