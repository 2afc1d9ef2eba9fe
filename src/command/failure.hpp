#pragma once

#include <tl/expected.hpp>

#include <string>
#include <utility>

namespace restep::command {

/// What the shell is told. The numbers are promised in --help.
enum class ExitCode : int {
  done = 0,         ///< all went well; compare: the same cut
  refused = 1,      ///< the program was refused (nothing was written); compare: different
  usage = 2,        ///< the command line or a job or profile makes no sense
  files = 3,        ///< a file cannot be read or written
  proof_failed = 4, ///< the output did not say what was meant (nothing was written)
};

/// Why a command cannot go on.
struct Failure {
  ExitCode code = ExitCode::usage;
  std::string message;
  std::string hint; ///< what would help; may be empty
};

template <class Value>
using Expected = tl::expected<Value, Failure>;

inline tl::unexpected<Failure> wrong_usage(std::string message, std::string hint = {}) {
  return tl::unexpected<Failure>(Failure{ExitCode::usage, std::move(message), std::move(hint)});
}

} // namespace restep::command
