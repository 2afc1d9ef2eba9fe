#pragma once

#include "cutter/tool.hpp"
#include "interpret/rules.hpp"
#include "motion/machine.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace restep::dialect {

/// How a control wants its blocks written, and which codes it has. Loaded from TOML; the writer asks this
/// struct and never the name. Every member has a key in profiles/dialects/rs274ngc.toml where it is
/// explained.
struct Dialect {
  std::string name;
  std::string title;
  interpret::ReadRules read;

  // numbers
  int decimals_mm = 4;   ///< X Y Z I J K R in millimetres
  int decimals_inch = 5; ///< the same in inches
  int decimals_feed = 3;
  int decimals_speed = 0;
  bool always_point = false; ///< "X10." instead of "X10"
  bool trailing_zeros = false;
  bool leading_zero_codes = false; ///< G01 instead of G1

  // blocks
  bool spaces = true; ///< between words
  bool line_numbers = false;
  int line_number_start = 10, line_number_step = 10;
  std::size_t max_line_length = 256;
  std::string line_end = "\n"; ///< for blocks written afresh when the source has no line end to copy
  bool percent = false;
  bool comments = true;
  char comment_style = '('; ///< '(' or ';'

  // words the control has
  bool inch = true, millimetre = true;
  bool cycles = true;
  bool length_offset = true;
  bool work_offsets = true;
  bool machine_coordinates = true;
  bool home = true;
  bool tool_change = true;
  bool path_control = true;
  bool inverse_time = true;
  bool arcs_xy = true, arcs_zx = true, arcs_yz = true;
  bool helical_arcs = true, full_circles = true;
  bool arc_centre_absolute = false;
  double chord_tolerance_mm = 0.002; ///< arcs that the control lacks become chords within this
  bool dwell_in_milliseconds = false;

  /// mm per last digit of a length in the given units.
  double resolution(motion::Units units) const;
};

/// A profile that cannot be used: where and why.
struct ProfileError {
  std::string file;
  std::uint32_t line = 0, column = 0;
  std::string message;
  std::string hint;
};

/// Loads by name (searched in the profile folders, see list_profiles) or, when the argument has a path
/// separator or ends in
/// ".toml", from that file. Unknown names get a did-you-mean in the hint.
tl::expected<Dialect, ProfileError> load_dialect(std::string const& name_or_file);
tl::expected<motion::Machine, ProfileError> load_machine(std::string const& name_or_file);
tl::expected<cutter::ToolTable, ProfileError> load_tools(std::string const& name_or_file);

enum class ProfileKind : std::uint8_t { dialect, machine, tools };
struct ProfileEntry {
  ProfileKind kind;
  std::string name;
  std::string title;
  std::string file;
};

/// The folders searched, in order: RESTEP_PROFILES (when set), ./profiles, the user's configuration folder
/// (XDG_CONFIG_HOME/restep/profiles), the install prefix (share/restep/profiles beside the program's bin
/// folder), and the source tree the program was built from.
std::vector<std::string> profile_folders();
std::vector<ProfileEntry> list_profiles();

} // namespace restep::dialect
