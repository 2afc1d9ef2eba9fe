#pragma once

#include "command/setup.hpp"
#include "dialect/writer.hpp"
#include "interpret/passages.hpp"
#include "motion/edit.hpp"
#include "text/finding.hpp"

#include <string>
#include <vector>

namespace restep::command {

/// Which passages of a program (calls, loops, turned coordinates) are written as their text stands and which
/// flat, as the blocks that were executed in them. All that the target dialect has are kept at first; a run
/// that finds one broken makes it flat, and is done again.
class KeptPassages {
public:
  KeptPassages(interpret::Passages found, Setup const& setup);

  interpret::Passages const& all() const { return passages_; }
  bool any() const;
  /// The text of a call or loop is kept: the output can only be followed when it is whole.
  bool any_flow() const;

  /// Makes flat what a run found broken; `edits` are the ones of that run. True when there was anything.
  bool learn(std::vector<dialect::BlockWriter::Broken> const& broken, motion::Edits const& edits);
  /// Makes everything flat.
  void give_up(std::string const& reason);
  /// The same, because what was written with its calls did not read back as what was meant.
  void distrust(std::string const& difference);

  /// Says what is written flat and why.
  void tell(text::Findings& findings) const;

private:
  interpret::Passages passages_;
  std::vector<std::string> reasons_; ///< of each passage that is written flat
  int runs_ = 0;                     ///< that found a passage broken
  std::string flow_reason_,
      coordinates_reason_; ///< why none of the kind is kept; empty where each has its own
};

} // namespace restep::command
