#pragma once

#include "text/place.hpp"

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace restep::text {

enum class Severity : std::uint8_t { note, warning, error };

/// "note", "warning" or "error".
std::string_view name_of(Severity severity);

/// One thing told to the user. `line` and `column` count from 1, 0 where there is none; `line_text` is the
/// block as it stands in the program (shortened to a readable length around the caret when the line is long).
struct Finding {
  Severity severity = Severity::note;
  std::string code;    ///< a stable short name in kebab-case, such as "arc-radius-mismatch"
  std::string message; ///< what was wanted and what was found
  std::string hint;    ///< what would help; empty when nothing is known
  std::uint32_t line = 0;
  std::uint32_t column = 0;
  std::uint32_t length = 0; ///< characters to underline, at least one when column is not 0
  std::string line_text;
  std::uint32_t cut = 0; ///< column - cut is the caret's column within line_text
};

/// The text with everything that could upset a terminal made visible: control characters, bytes that are not
/// UTF-8 and marks that turn the writing direction appear as "\x1B" and the like, a tab as one blank.
std::string printable(std::string_view text);

/// All findings of one run, in the order they were made. Nothing below the commands prints; everything
/// appends here. At most `limit` findings of one code are kept, the rest is counted.
class Findings {
public:
  explicit Findings(std::size_t limit_per_code = 20)
      : limit_per_code_(limit_per_code) {}

  void add(Finding finding);
  /// All of another run's, those that it only counted too.
  void add(Findings const& others);

  /// Adds a finding about a stretch of a line; the column is taken from the span, line text and caret from
  /// `line_text`.
  void add(Severity severity, std::string code, std::string message, std::string hint, Place place,
           std::string_view line_text, Span span);

  /// Adds a finding about a whole block whose text is not at hand (a transform's remark).
  void add(Severity severity, std::string code, std::string message, std::string hint, Place place);

  std::vector<Finding> const& all() const { return kept_; }
  std::size_t count(Severity severity) const;
  bool has_errors() const { return count(Severity::error) != 0; }

  /// How many findings of this code were made beyond those kept.
  std::size_t left_out(std::string_view code) const;

private:
  struct Tally {
    std::string code;
    std::size_t made = 0;
    std::size_t kept = 0;
  };
  Tally& tally_of(std::string const& code);

  std::size_t limit_per_code_;
  std::size_t by_severity_[3] = {0, 0, 0};
  std::vector<Finding> kept_;
  std::vector<Tally> tallies_;
};

/// The finding as the terminal shows it: "part.nc:412:12: error: ..." followed by the line, a caret line and
/// the hint. Ends with a line feed.
std::string format(Finding const& finding, std::string_view program_name);

} // namespace restep::text
