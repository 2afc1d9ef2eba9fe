#pragma once

#include "report/program_report.hpp"

#include <nlohmann/json.hpp>

namespace restep::report {

/// A number rounded to `decimals` digits; null when it is not finite, since JSON has no word for that.
nlohmann::ordered_json rounded(double value, int decimals);

/// Lengths in micrometres, to the nanometre; lengths in millimetres, to the nanometre; seconds, to the
/// millisecond.
inline nlohmann::ordered_json micrometres(double value) {
  return rounded(value, 3);
}
inline nlohmann::ordered_json millimetres(double value) {
  return rounded(value, 6);
}
inline nlohmann::ordered_json seconds(double value) {
  return rounded(value, 3);
}

/// Of the schemas in src/report/schema, which describe the JSON of the commands.
inline constexpr int schema_version = 1;

/// The report of rewrite and inspect.
nlohmann::ordered_json to_json(ProgramReport const& report);

} // namespace restep::report
