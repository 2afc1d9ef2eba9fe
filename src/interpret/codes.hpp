#pragma once

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

namespace restep::interpret {

/// The modal groups of G codes (NISTIR 6556, table 4), and what the trade adds.
enum class Group : std::uint8_t {
  unknown,
  non_modal,     ///< G4 G10 G28 G30 G52 G53 G65 G92 ...
  motion,        ///< G0 - G3, G38.2, G73, G74, G76, G80 - G89
  plane,         ///< G17 G18 G19
  units,         ///< G20 G21 G70 G71
  distance,      ///< G90 G91
  arc_distance,  ///< G90.1 G91.1
  feed_mode,     ///< G93 G94 G95
  compensation,  ///< G40 G41 G42
  length_offset, ///< G43 G49
  system,        ///< G54 - G59.3, G54.1
  path,          ///< G61 G61.1 G64
  return_level,  ///< G98 G99
  frame,         ///< G50 G50.1 G51 G51.1 G68 G69
  polar,         ///< G15 G16
  idle,          ///< cancels of what is never active here: G67, G97
  carried,       ///< listed by the dialect as carried unchanged
};
inline constexpr std::size_t group_count = 17;

/// The groups of M codes.
enum class MGroup : std::uint8_t { unknown, stop, tool_change, spindle, coolant, overrides, carried };
inline constexpr std::size_t m_group_count = 7;

/// The name of a group in a message: "a motion code", "a plane" ...
std::string_view name_of(Group group);
std::string_view name_of(MGroup group);

/// Which group a code belongs to; one table look-up. G codes count in tenths.
class CodeTable {
public:
  /// `iso_units` adds G70 and G71; `carried_g` (tenths) and `carried_m` are added where nothing is known.
  CodeTable(bool iso_units, std::vector<int> const& carried_g, std::vector<int> const& carried_m);

  Group g(std::int64_t tenths) const {
    return tenths >= 0 && tenths < static_cast<std::int64_t>(g_.size()) ? g_[static_cast<std::size_t>(tenths)]
                                                                        : Group::unknown;
  }
  MGroup m(std::int64_t code) const {
    return code >= 0 && code < static_cast<std::int64_t>(m_.size()) ? m_[static_cast<std::size_t>(code)]
                                                                    : MGroup::unknown;
  }

private:
  std::array<Group, 1000> g_{};
  std::array<MGroup, 1000> m_{};
};

/// Why a known code is not taken, for people.
struct Refusal {
  std::string_view code; ///< of the finding
  std::string_view what; ///< "polar coordinates"
  std::string_view why;  ///< why it matters
  std::string_view hint;
};

/// What is known about a G code (tenths) or M code that restep does not act on; a general answer for others.
Refusal refusal_of_g(std::int64_t tenths);
Refusal refusal_of_m(std::int64_t code);

/// Whether NISTIR 6556 has a code of a group (table 4).
constexpr bool is_in_standard(Group group, int tenths) {
  switch (group) {
  case Group::non_modal: return tenths != 520 && tenths != 650;
  case Group::motion: return tenths <= 382 || tenths >= 800;
  case Group::units: return tenths <= 210;
  case Group::system: return tenths != 541;
  case Group::feed_mode: return tenths <= 940;
  case Group::arc_distance:
  case Group::frame:
  case Group::polar:
  case Group::idle: return false;
  default: return true;
  }
}

constexpr bool is_cycle(int tenths) {
  return (tenths > 800 && tenths <= 890) || tenths == 730 || tenths == 740 || tenths == 760;
}
/// A call of a subprogram, or its return.
constexpr bool is_call(int m_code) {
  return m_code >= 97 && m_code <= 99;
}
constexpr bool is_arc_code(int tenths) {
  return tenths == 20 || tenths == 30;
}
constexpr bool is_probe(int tenths) {
  return tenths >= 382 && tenths <= 385;
}

} // namespace restep::interpret
