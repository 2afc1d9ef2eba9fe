#pragma once

#include "motion/step.hpp"

#include <optional>
#include <string_view>

namespace restep::dialect {

/// A canned cycle is the active motion mode (code in tenths).
constexpr bool is_cycle_mode(int motion) {
  return motion == 730 || motion == 740 || motion == 760 || (motion >= 810 && motion <= 890);
}

/// What the writer knows about the modes of the control that will read its blocks.
enum class Knowledge : std::uint8_t {
  nothing,  ///< the program's start: the modes must be stated
  restated, ///< a program is running, its modes must be stated before they are relied on
  known,
};

/// The state of the control that reads the output, as the blocks written so far have left it.
struct Control {
  motion::Modes modes; ///< motion -10 and feed NaN: not known
  Knowledge knowledge = Knowledge::nothing;
  motion::Vec3 position = motion::unknown_position;
  double initial_level = motion::unknown; ///< height at which the active cycle mode was entered, when known
  double rpm = 0;
  motion::Rotation rotation = motion::Rotation::stop;
  int selected_tool = -1;

  /// Takes the place, spindle and tool from an event that was copied or written.
  void follow(motion::Event const& event);
};

/// The modes that a block leaves behind, from its text and the modes before it; nothing when that takes more
/// than its plain words (parameters, expressions, the program's end). The feed is NaN when the block has an
/// F word.
std::optional<motion::Modes> modes_after(motion::Modes before, std::string_view text);

/// A block with this text, read in these modes, leaves the feed in force as it is.
bool leaves_feed(std::string_view text, motion::Modes modes);

/// The block is nothing but a comment, or blank: it means the same in every state.
bool is_comment_only(std::string_view text);

/// The block sets parameters and does nothing else.
bool is_settings_only(std::string_view text);

/// The block's values do not depend on parameters (it has no '#', no '[').
inline bool is_literal(std::string_view text) {
  return text.find_first_of("#[") == std::string_view::npos;
}

/// Places of an axis that are no farther apart are one, mm.
inline constexpr double same_place = 1e-7;

/// Both are unknown, or known and the same place on every axis.
bool same_position(motion::Vec3 const& a, motion::Vec3 const& b);

} // namespace restep::dialect
