#pragma once

#include "command/console.hpp"
#include "command/failure.hpp"
#include "dialect/profile.hpp"
#include "report/comparison.hpp"

#include <optional>
#include <string>

namespace restep::command {

/// Two programs and what is asked of them.
struct Pair {
  std::string a, b; ///< files; one of them may be "-"
  dialect::Dialect from_a, from_b;
  double tolerance = 0.001;          ///< mm
  std::optional<motion::Vec3> shift; ///< B is A moved by this, mm
  bool record_path = false;          ///< keep both ways for the figures of a page
};

/// Reads both programs side by side and compares their cuts; what was not understood is told to the console
/// and is a failure with the code `refused`.
Expected<report::ComparisonReport> compare_programs(Pair const& pair, Console const& console);

} // namespace restep::command
