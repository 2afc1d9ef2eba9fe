#pragma once

#include "dialect/profile.hpp"
#include "interpret/passages.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <functional>
#include <memory>
#include <string_view>
#include <vector>

namespace restep::dialect {

/// Writes a stream of steps as blocks of a dialect.
///
/// A block whose steps no stage touched is copied byte for byte (with its own line end) when `verbatim` is
/// allowed (source and target dialect are the same) and the control that reads the output is in the same
/// modal state and at the same place as the source's was. Otherwise the block is written afresh: only the
/// words that the state needs, cycles and arcs expanded where the dialect lacks them, numbers rounded to its
/// digits.
///
/// A stage may leave out whole blocks. One that leaves out a single step of a block marks the others
/// `touched`: the block's text still holds the words of the step that is gone.
///
/// A passage of the program that is to be kept (calls, loops, turned coordinates) is copied as a whole; the
/// steps that its text stands for are only followed. Where that turns out to be wrong the passage is in
/// broken(), and the output is not to be used: the run is done again with the steps of that passage.
///
/// Findings: what the dialect lacks is left out with one warning of its kind, or refused with an error where
/// leaving it out would move the machine elsewhere; the output is then not to be used.
class BlockWriter {
public:
  struct Options {
    bool verbatim = true;
    interpret::Passages const* passages = nullptr; ///< those that the steps name; must outlive the writer
  };

  /// `source` gives the text of untouched blocks; `sink` receives the bytes in order, in large pieces.
  BlockWriter(Dialect const& dialect, text::Input& source, std::function<void(std::string_view)> sink,
              text::Findings& findings, Options options);
  ~BlockWriter();

  void write(motion::Step const& step);
  /// The same of all its blocks, at once where they are copied.
  void write(motion::Stretch const& stretch);

  /// Writes what is pending and the last bytes. Nothing may be written afterwards.
  void finish();

  /// Why the text of a passage cannot be kept.
  struct Broken {
    enum class Why : std::uint8_t {
      changed,   ///< a stage changed a step that the text stands for, added one, or took one out
      state,     ///< the control is not in the state that the text counts on
      parameter, ///< a block before it that set a parameter was written with its value worked out
    };
    std::uint32_t passage = 0; ///< number, from 1
    Why why = Why::changed;
    std::uint32_t line = 0; ///< where the reason stands in the program
  };
  std::vector<Broken> const& broken() const;

  /// How many blocks were copied and how many were written afresh.
  struct Count {
    std::uint64_t copied = 0;
    std::uint64_t afresh = 0;
    std::uint64_t linearised_arcs = 0;
    std::uint64_t expanded_cycles = 0;
  };
  Count const& count() const;

  struct Implementation;

private:
  std::unique_ptr<Implementation> implementation_;
};

} // namespace restep::dialect
