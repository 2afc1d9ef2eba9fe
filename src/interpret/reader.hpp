#pragma once

#include "interpret/rules.hpp"
#include "motion/step.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <memory>

namespace restep::interpret {

/// Reads a program and gives its steps: lines -> words -> modal state -> steps. Whatever cannot be understood
/// becomes an error finding at its line; reading goes on, so that all errors of a file are found in one run,
/// but the stream is then not to be written. Memory: one block.
class ProgramReader final : public motion::StepSource {
public:
  ProgramReader(text::Input& input, ReadRules const& rules, text::Findings& findings);
  ~ProgramReader() override;

  bool next(motion::Step& step) override;

  /// Where the machine would stand now, in the active work offset (NaN where unknown).
  motion::Vec3 position() const;

  /// The modal state now.
  motion::Modes modes() const;

  struct Implementation;

private:
  std::unique_ptr<Implementation> implementation_;
};

} // namespace restep::interpret
