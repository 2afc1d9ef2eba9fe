#pragma once

#include "dialect/profile.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

namespace restep::proof {

struct ReadBackResult {
  std::uint64_t motions = 0;    ///< compared
  double largest_deviation = 0; ///< mm, between a meant and a read motion, arcs' courses included
};

struct ReadBackFailure {
  std::uint32_t meant_line = 0; ///< line of the source that the meant step comes from, 0 where there is none
  std::uint32_t written_line = 0; ///< line of the output
  std::string what;
};

/// Reads the written bytes again under the target dialect, while they are written, and compares what they say
/// with what was meant. Cycles on either side are expanded; an arc may have become chords within the
/// dialect's tolerance; every motion, spindle, tool, coolant, dwell, stop and offset event must appear in the
/// same order. A position may differ by half a last digit per axis, an arc's course by one digit more. What
/// the dialect cannot say at all (Dialect tells) is left out on both sides. Memory: the steps between writing
/// and reading, a few blocks.
class ReadBack {
public:
  explicit ReadBack(dialect::Dialect const& dialect);
  /// Reads an output that is complete, step by step with what was meant: one with calls and loops can only be
  /// followed when it is whole. written() is not to be called.
  ReadBack(dialect::Dialect const& dialect, text::Input output);
  ~ReadBack();

  /// The step that is about to be written.
  void meant(motion::Step const& step);
  void meant(motion::Stretch const& stretch);
  /// Bytes that the writer produced; everything complete is read and compared.
  void written(std::string_view bytes);
  /// The end of both. True when all agreed.
  bool finish();

  ReadBackResult const& result() const;
  std::optional<ReadBackFailure> const& failure() const;

  struct Implementation;

private:
  std::unique_ptr<Implementation> implementation_;
};

} // namespace restep::proof
