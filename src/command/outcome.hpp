#pragma once

#include "command/failure.hpp"
#include "report/program_report.hpp"
#include "report/toolpath.hpp"
#include "text/input.hpp"

#include <optional>
#include <utility>

namespace restep::command {

/// How one program fared.
struct Outcome {
  ExitCode code = ExitCode::done;
  report::ProgramReport report;
  report::Toolpath path;          ///< of what was written (inspect: of the program); empty unless wanted
  std::optional<Failure> failure; ///< trouble outside the program's text
};

/// Nothing is written because of what the findings say. Always false.
inline bool refuse(Outcome& outcome) {
  outcome.code = ExitCode::refused;
  return false;
}

/// Nothing is written because of trouble outside the text. Always false.
inline bool fail(Outcome& outcome, Failure failure) {
  outcome.code = failure.code;
  outcome.failure = std::move(failure);
  return false;
}

/// The medium may fail in the middle of a program; the end of the stream is then not its end.
inline bool readable(text::Input const& input, Outcome& outcome) {
  return input.error().what.empty() || fail(outcome, file_failure(input.error()));
}

} // namespace restep::command
