#pragma once

#include "text/place.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

namespace restep::grammar {

/// Lines of axis words, read many at once into columns: "X-29.9000 Y-29.9999 Z-5.8341" and its like. A block
/// number, G1 and the F in force may stand among them; anything else is for the other tiers.
struct CutLines {
  static constexpr std::size_t most = 256;

  std::size_t size = 0;
  /// X, Y and Z as Decimal::scaled. Column 0 is what held before, line i is in column i + 1; an axis that a
  /// line does not name keeps the number of the line before.
  std::array<std::array<std::int64_t, most + 1>, 3> value;
  std::array<text::Span, most> lines; ///< bytes from the start of the text, without line ends
  bool names_code = false;            ///< G1 stands in one of them
  bool names_feed = false;            ///< F does
};

/// What holds while such lines are read.
struct CutRules {
  std::optional<std::int64_t> feed; ///< the F that may be said again, as Decimal::scaled
  bool needs_points = false;        ///< a number without a decimal point means something else
};

/// Reads such lines from the start of `text` as far as there are any, each with its line end (LF or CRLF).
/// Gives the number of bytes read.
std::size_t parse_cuts(std::string_view text, CutRules const& rules, CutLines& lines);

} // namespace restep::grammar
