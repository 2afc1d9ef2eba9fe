#pragma once

#include "grammar/words.hpp"
#include "interpret/rules.hpp"
#include "motion/step.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <string>

namespace restep::interpret {

/// What holds a program together: percent lines, the program's end, and the layout rules of the standard
/// (NISTIR 6556, 3.1 and 3.3) where the dialect asks for them.
class ProgramLayout {
public:
  ProgramLayout(ReadRules const& rules, text::Findings& findings)
      : rules_(rules)
      , findings_(findings) {}

  /// Past M2, M30 or the closing percent line.
  bool after_end() const { return ended_ || closed_; }
  /// What a line past the end is: a closing percent line, or text that is never executed.
  motion::LayoutKind kind_after_end(text::Line const& line);
  /// Subprograms were called: the text behind the end is not idle.
  void meet_subprograms() { text_after_end_ = true; }

  void check_length(text::Line const& line);
  /// A line that is a block: the rules for N and comments.
  void check_block(text::Line const& line, grammar::WordBlock const& block);
  /// A block that could not be read: no percent line after it can be the opening one.
  void meet_block() { block_met_ = true; }
  void meet_percent(text::Line const& line);
  /// M2 or M30 was executed.
  void meet_end() { ended_ = true; }
  /// The file is at its end; `last` is the last line that was read.
  void finish(text::Line const& last);

private:
  ReadRules const& rules_;
  text::Findings& findings_;
  bool block_met_ = false;
  bool opened_ = false; ///< a percent line stood before the first block
  bool closed_ = false;
  bool ended_ = false;
  bool text_after_end_ = false; ///< it was told, or there is nothing to tell
  text::Place opening_;

  void error(text::Line const& line, text::Span span, std::string code, std::string message,
             std::string hint);
};

} // namespace restep::interpret
