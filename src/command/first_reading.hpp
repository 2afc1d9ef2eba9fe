#pragma once

#include "command/console.hpp"
#include "command/outcome.hpp"
#include "command/setup.hpp"
#include "interpret/passages.hpp"
#include "motion/survey.hpp"
#include "text/input.hpp"

#include <cstdint>
#include <map>

namespace restep::command {

/// The first reading: what must be known before anything can be rewritten.
struct FirstReading {
  motion::Survey survey;
  motion::Units units = motion::Units::mm; ///< those of the first motion
  std::map<std::uint32_t, double> speeds;  ///< see transform::Context::planned_speeds
  interpret::Passages passages;
};

/// Reads the program once, and puts the input back to its beginning. False when it cannot be understood; the
/// findings are then in the report.
bool read_first(text::Input& input, Setup const& setup, Console const& console, FirstReading& first,
                Outcome& outcome);

} // namespace restep::command
