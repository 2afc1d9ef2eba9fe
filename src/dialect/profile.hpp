#pragma once

#include "cutter/tool.hpp"
#include "interpret/rules.hpp"
#include "motion/control_word.hpp"
#include "motion/machine.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace restep::dialect {

/// Digits behind the point for single letters, where they differ from the common number; -1: they do not.
struct LetterDecimals {
  std::array<std::int8_t, 26> of{};

  LetterDecimals() { of.fill(-1); }
  std::int8_t& operator[](char letter) { return of[static_cast<std::size_t>(letter - 'A')]; }
  std::int8_t operator[](char letter) const { return of[static_cast<std::size_t>(letter - 'A')]; }
};

enum class NumberedBlocks : std::uint8_t { all, tool_changes };
enum class ArcSplit : std::uint8_t { none, halves, quadrants };

/// How a control wants its blocks written, and which codes it has. Loaded from TOML; the writer asks this
/// struct and never the name. Every member has a key in profiles/dialects/rs274ngc.toml where it is
/// explained.
struct Dialect {
  std::string name; ///< the file's name without ".toml"
  std::string title;
  interpret::ReadRules read;

  // numbers
  int decimals_mm = 4;   ///< X Y Z I J K R in millimetres
  int decimals_inch = 5; ///< the same in inches
  int decimals_feed = 3; ///< F in millimetres
  int decimals_feed_inch = 3;
  int decimals_speed = 0;
  LetterDecimals letters_mm, letters_inch; ///< lengths whose letter has digits of its own
  bool count_increments = false;           ///< lengths are whole numbers of the last digit: X10.5 is X10500
  bool always_point = false;               ///< "X10." instead of "X10"; lengths only
  bool trailing_zeros = false;
  bool plus_sign = false;          ///< "X+10"; lengths only
  bool leading_zero_codes = false; ///< G01 instead of G1

  // blocks
  bool spaces = true; ///< between words
  std::string
      word_order; ///< letters in the order of their words in a block; empty: as the standard lists them
  bool repeat_codes = false;      ///< G0 ... G3 in every block, though they are in force
  bool repeat_axes = false;       ///< X, Y and Z in every move, though they do not change
  bool incremental_moves = false; ///< G91: moves are said as distances from where the control stands
  bool repeat_feed = false;       ///< F in every feed move
  bool line_numbers = false;
  NumberedBlocks numbered = NumberedBlocks::all;
  int line_number_start = 10, line_number_step = 10;
  std::size_t max_line_length = 254; ///< characters without the line end
  std::string line_end = "\n";       ///< for blocks written afresh when the source has no line end to copy
  bool percent = false;
  bool program_numbers = false;   ///< O words
  int default_program_number = 0; ///< written when the program has none; 0: nothing
  bool blank_lines = true;
  bool comments = true;
  char comment_style = '('; ///< '(' or ';'
  bool messages = true;     ///< (MSG, ...) is shown to the operator
  bool ascii_comments = true;
  bool upper_case_comments = false;
  std::string comment_characters; ///< what a comment may hold besides letters, digits and blanks; empty: all

  // words the control has
  bool inch = true, millimetre = true;
  bool iso_unit_codes = false;                                               ///< G70 G71 instead of G20 G21
  bool cycles = true;                                                        ///< any of cycle_codes
  std::vector<int> cycle_codes{810, 820, 830, 840, 850, 860, 870, 880, 890}; ///< in tenths
  bool length_offset = true;
  bool work_offsets = true;
  int work_offset_count = 9;    ///< 6: G54 ... G59, 9: to G59.3
  int further_work_offsets = 0; ///< G54.1 P1 up to this P
  bool machine_coordinates = true;
  bool home = true;
  bool tool_change = true;
  bool path_control = true;
  bool path_tolerance = false;      ///< G64 P
  bool compensation = true;         ///< G40 G41 G42
  bool probe = true;                ///< G38.2
  bool coordinate_shift = true;     ///< G92 ... G92.3
  bool local_shift = false;         ///< G52
  bool set_origin = true;           ///< G10 L2
  bool set_origin_here = false;     ///< G10 L20
  bool overrides = true;            ///< M48 M49
  bool pallets = true;              ///< M60
  bool inverse_time = true;         ///< G93
  bool feed_per_revolution = false; ///< G95
  bool block_delete = true;         ///< "/"
  bool parameters = true;           ///< "#" and the expressions in "[ ]" that its programs hold
  bool calls = true;                ///< the calls, jumps and loops that its programs hold
  bool arcs_xy = true, arcs_zx = true, arcs_yz = true;
  bool helical_arcs = true, full_circles = true;
  bool arc_centre_absolute = false;
  bool arc_radius_form = false;        ///< R instead of I J K
  ArcSplit arc_split = ArcSplit::none; ///< no arc block goes beyond these borders
  double smallest_radius_mm = 0;       ///< arcs of smaller radius become chords
  double largest_radius_mm = 0;        ///< arcs of larger radius become chords; 0: no limit
  double shortest_arc_mm = 0;          ///< arcs whose ends lie nearer become chords
  double chord_tolerance_mm = 0.002;   ///< arcs that the control lacks become chords within this
  bool dwell_in_milliseconds = false;
  motion::ControlHabits habits; ///< words by other names, lines at certain places

  /// Digits behind the point of a length with this letter.
  int decimals_of(char letter, motion::Units units) const;
  int feed_decimals(motion::Units units) const {
    return units == motion::Units::mm ? decimals_feed : decimals_feed_inch;
  }
  /// mm per last digit of a position in the given units: that of the coarsest of X Y Z.
  double resolution(motion::Units units) const;
  /// mm per last digit of what says an arc: the coarsest of the position and the centre (or radius) words.
  double arc_resolution(motion::Units units) const;
  /// The control can drive an arc in this plane.
  bool has_plane(motion::Plane plane) const;
  /// The words of a state block that it knows: a sum of motion::state_word.
  std::uint8_t state_words() const;
  /// The control has this canned cycle (code in tenths).
  bool has_cycle(int code) const;
};

/// A profile that cannot be used: where and why.
struct ProfileError {
  std::string file;
  std::uint32_t line = 0, column = 0;
  std::string message;
  std::string hint; ///< may be empty

  friend bool operator==(ProfileError const&, ProfileError const&) = default;
};

/// "file:line:column: error: message; hint" without a line end; the line and column are left out when 0.
std::string format(ProfileError const& error);

/// Loads by name (searched in the profile folders, see list_profiles) or, when the argument has a path
/// separator or ends in
/// ".toml", from that file. Unknown names get a did-you-mean in the hint.
tl::expected<Dialect, ProfileError> load_dialect(std::string const& name_or_file);
tl::expected<motion::Machine, ProfileError> load_machine(std::string const& name_or_file);
tl::expected<cutter::ToolTable, ProfileError> load_tools(std::string const& name_or_file);

/// Everything that is wrong with a profile file and the files it is based on; empty when it can be used. What
/// it is (dialect, machine, tools) comes from its key `profile`, else from the folder it stands in.
std::vector<ProfileError> check_profile(std::string const& file);

enum class ProfileKind : std::uint8_t { dialect, machine, tools };
struct ProfileEntry {
  ProfileKind kind;
  std::string name;
  std::string title;
  std::string file;
};

/// The file that a name stands for, or why there is none.
tl::expected<std::string, ProfileError> find_profile(ProfileKind kind, std::string const& name_or_file);

/// The folders searched, in order: RESTEP_PROFILES (when set), ./profiles, the user's configuration folder
/// (XDG_CONFIG_HOME/restep/profiles), the install prefix (share/restep/profiles beside the program's bin
/// folder), and the source tree the program was built from.
std::vector<std::string> profile_folders();
std::vector<ProfileEntry> list_profiles();

} // namespace restep::dialect
