#pragma once

#include "text/place.hpp"

#include <cstdint>
#include <vector>

namespace restep::interpret {

/// A stretch of the main program that has its meaning only as a whole: a call, a loop, the lines between a
/// jump and its target, the definition of a subprogram, or what stands in turned, scaled, mirrored or polar
/// coordinates. It is entered at its first line and left behind its last one, once. Either its text is
/// written, or the blocks that were executed in it.
struct Passage {
  text::Place first, last; ///< its first and its last line
  bool flow = false;       ///< it holds calls, jumps, loops, conditions or subprograms
  bool sets = false;       ///< parameters are set in it that are in force behind it
  bool keep = false;       ///< its text is to be written
};

/// In the order of their lines; none overlaps another.
using Passages = std::vector<Passage>;

/// Finds the passages of a program while it is executed for the first time.
class PassageFinder {
public:
  /// These lines belong together. Whatever lies between them and the passages they touch belongs to them too.
  void join(text::Place first, text::Place last, bool flow);
  /// A parameter was set in or below this line of the main program.
  void note_setting(std::uint32_t line);

  Passages const& found() const { return found_; }

private:
  Passages found_;
};

} // namespace restep::interpret
