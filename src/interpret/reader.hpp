#pragma once

#include "interpret/passages.hpp"
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
  /// With the `passages` that a first reading of the same program found, the steps of those to be kept say
  /// so, and only the steps of the others are to be written afresh. The passages must outlive the reader.
  ProgramReader(text::Input& input, ReadRules const& rules, text::Findings& findings,
                Passages const* passages = nullptr);
  ~ProgramReader() override;

  bool next(motion::Step& step) override;
  bool next_stretch(motion::Stretch& stretch) override;

  /// Where the machine would stand now, in the active work offset (NaN where unknown).
  motion::Vec3 position() const;

  /// The modal state now.
  motion::Modes modes() const;

  /// What the blocks read so far have said of the state of the control (motion::state_word); blocks with "/"
  /// say nothing for certain.
  std::uint8_t stated() const;

  /// The passages of what has been read so far.
  Passages passages() const;

  struct Implementation;

private:
  std::unique_ptr<Implementation> implementation_;
};

} // namespace restep::interpret
