#pragma once

#include "geometry/vec.hpp"
#include "text/place.hpp"

#include <cstdint>
#include <limits>
#include <string_view>
#include <variant>

/// The typed stream: the one vocabulary that interpret/, transform/, finish/, dialect/ and proof/ share.
///
/// All positions are absolute millimetres in the active work offset, whatever the program's units and
/// distance mode. A coordinate that is not known (before the first word for an axis, after a probe, a home
/// move ...) is NaN.
namespace restep::motion {

using geometry::Vec3;

inline constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
inline constexpr Vec3 unknown_position{unknown, unknown, unknown};
inline bool is_known(double coordinate) {
  return coordinate == coordinate;
}
inline bool is_known(Vec3 const& p) {
  return is_known(p.x) && is_known(p.y) && is_known(p.z);
}

enum class Plane : std::uint8_t { xy, zx, yz };                                  // G17 G18 G19
enum class Units : std::uint8_t { mm, inch };                                    // G21 G20
enum class Distance : std::uint8_t { absolute, incremental };                    // G90 G91
enum class FeedMode : std::uint8_t { per_minute, inverse_time, per_revolution }; // G94 G93 G95
enum class ReturnLevel : std::uint8_t { initial, retract };                      // G98 G99
enum class PathKind : std::uint8_t { rapid, line, arc_cw, arc_ccw };             // G0 G1 G2 G3
enum class Side : std::uint8_t { off, left, right };                             // G40 G41 G42

/// What is left of a course is right of it the other way round.
constexpr Side other(Side side) {
  return side == Side::left ? Side::right : side == Side::right ? Side::left : Side::off;
}

/// The modal state of a control *before* a block, as far as it decides what the block's text means. The
/// writer copies a block's text only when the control it writes for is in this same state.
struct Modes {
  std::int16_t motion = 800; ///< active group 1 code in tenths: 0, 10, 20, 30, 382, 800, 810 ...
  Plane plane = Plane::xy;
  Units units = Units::mm;
  Distance distance = Distance::absolute;
  Distance arc_distance = Distance::incremental; ///< G90.1 / G91.1
  FeedMode feed_mode = FeedMode::per_minute;
  ReturnLevel return_level = ReturnLevel::initial;
  double feed = 0; ///< the F in force: mm/min, 1/min or mm/rev by feed_mode; 0 when none was given

  friend bool operator==(Modes const&, Modes const&) = default;
};

/// One resolved move. `from` is where the previous step ended. For arcs `centre` lies in the arc's plane at
/// the start point's height along the axis normal to it; end equal to start (in the plane) is one full turn;
/// a difference along the normal axis makes a helix. `plane` is meaningful for arcs only.
struct Motion {
  PathKind path = PathKind::rapid;
  Plane plane = Plane::xy;
  FeedMode feed_mode = FeedMode::per_minute;
  bool compensated = false; ///< cutter radius compensation is active: the tool centre is elsewhere
  bool rotary = false;      ///< the block also moves an axis other than X Y Z
  std::uint8_t blind = 0;   ///< bit 0 X, 1 Y, 2 Z: moves by a known way from an unknown place
  bool clear = false;       ///< a rapid whose whole way has been shown to be free of material
  Side wall =
      Side::off; ///< of a cut of a pass: on which side of its course the finished wall is known to stand
  Vec3 from = unknown_position;
  Vec3 to = unknown_position;
  Vec3 centre{};
  double feed = 0; ///< mm/min, 1/min or mm/rev by feed_mode; 0 for rapids

  friend bool operator==(Motion const&, Motion const&) = default;
};

/// One hole of a canned cycle (G73, G74, G76, G81 ... G89), with all sticky values resolved.
/// `normal axis` is Z for Plane::xy, Y for Plane::zx, X for Plane::yz.
struct Cycle {
  std::int16_t code = 810; ///< in tenths
  Plane plane = Plane::xy;
  ReturnLevel return_level = ReturnLevel::initial;
  FeedMode feed_mode = FeedMode::per_minute;
  Vec3 from = unknown_position; ///< where the tool was before this hole
  Vec3 hole{};                  ///< position in the plane; the normal-axis component is the bottom
  double retract = 0;           ///< the R plane along the normal axis
  double clear = 0; ///< where the tool ends along the normal axis: R plane, or the level before the cycle
  double peck = 0;  ///< Q, mm
  double dwell = 0; ///< P, seconds
  double feed = 0;
  double shift_i = 0, shift_j = 0, shift_k = 0; ///< G76, G87

  friend bool operator==(Cycle const&, Cycle const&) = default;
};

/// G28 or G30: through `via` (axes not named are NaN) to the stored reference point of the axes in `axes`.
struct Home {
  bool second = false;   ///< G30
  std::uint8_t axes = 0; ///< bit 0 X, bit 1 Y, bit 2 Z: the axes that go home
  Vec3 via = unknown_position;
  Vec3 from = unknown_position;

  friend bool operator==(Home const&, Home const&) = default;
};

/// A G53 move: `to` is in machine coordinates, NaN for axes that stay.
struct MachineMove {
  bool rapid = true;
  Vec3 from = unknown_position; ///< work coordinates
  Vec3 to = unknown_position;
  double feed = 0;

  friend bool operator==(MachineMove const&, MachineMove const&) = default;
};

/// G38.2: towards `to` at feed; the axes named are unknown afterwards.
struct Probe {
  std::int16_t code = 382;
  Vec3 from = unknown_position;
  Vec3 to = unknown_position;
  double feed = 0;

  friend bool operator==(Probe const&, Probe const&) = default;
};

struct Dwell { // G4
  double seconds = 0;
  friend bool operator==(Dwell const&, Dwell const&) = default;
};

enum class Rotation : std::uint8_t { clockwise, counter_clockwise, stop }; // M3 M4 M5
struct SpindleTurn {
  Rotation rotation = Rotation::stop;
  friend bool operator==(SpindleTurn const&, SpindleTurn const&) = default;
};
struct SpindleSpeed { // S
  double rpm = 0;
  friend bool operator==(SpindleSpeed const&, SpindleSpeed const&) = default;
};
struct ToolSelect { // T
  int tool = 0;
  friend bool operator==(ToolSelect const&, ToolSelect const&) = default;
};
struct ToolChange { // M6; the tool that was selected last
  int tool = 0;
  friend bool operator==(ToolChange const&, ToolChange const&) = default;
};
enum class CoolantKind : std::uint8_t { mist, flood, off }; // M7 M8 M9
struct Coolant {
  CoolantKind kind = CoolantKind::off;
  friend bool operator==(Coolant const&, Coolant const&) = default;
};
enum class StopKind : std::uint8_t { program, optional, pallet, end, end_rewind }; // M0 M1 M60 M2 M30
struct Stop {
  StopKind kind = StopKind::program;
  friend bool operator==(Stop const&, Stop const&) = default;
};
struct Override { // M48 M49
  bool enabled = true;
  friend bool operator==(Override const&, Override const&) = default;
};
struct WorkOffset { // G54 ... G59.3: 1 ... 9; G54.1 P1, P2 ...: 10, 11 ...
  int system = 1;
  friend bool operator==(WorkOffset const&, WorkOffset const&) = default;
};
struct LengthOffset { // G43 H / G49
  bool active = false;
  int index = 0;
  friend bool operator==(LengthOffset const&, LengthOffset const&) = default;
};
enum class PathMode : std::uint8_t { exact_path, exact_stop, continuous }; // G61 G61.1 G64
struct PathControl {
  PathMode mode = PathMode::continuous;
  double tolerance = 0; ///< G64 P in mm, 0 when not given
  friend bool operator==(PathControl const&, PathControl const&) = default;
};
struct Compensation {
  Side side = Side::off;
  int index = -1; ///< D, -1 when not given
  friend bool operator==(Compensation const&, Compensation const&) = default;
};
/// G92, G92.1, G92.2, G92.3, G52: the work coordinates of the current point change, nothing moves.
struct OffsetChange {
  std::int16_t code = 920;
  Vec3 values = unknown_position; ///< the values given (mm), NaN for axes not named
  friend bool operator==(OffsetChange const&, OffsetChange const&) = default;
};
/// G10 L2: the origin of a work offset system is stored. G10 L20: it is stored so that the point where the
/// tool stands gets the coordinates given; nothing moves.
struct SetOrigin {
  int system = 1;                 ///< L20: 0 for the active one
  Vec3 origin = unknown_position; ///< L2: machine coordinates; L20: work coordinates of the current point
  bool here = false;              ///< L20
  friend bool operator==(SetOrigin const&, SetOrigin const&) = default;
};

/// A remark for people. `message` is true for (MSG, ...), which the control shows to the operator.
struct Comment {
  std::string_view text; ///< without the comment marks; lives as long as the input or the run
  bool message = false;
  friend bool operator==(Comment const&, Comment const&) = default;
};

/// A block whose codes restep does not act on: it is carried unchanged or dropped, by the dialect's rules.
/// With `motion_unknown` nothing is known about where the machine is afterwards.
struct Carried {
  std::string_view text; ///< the words, as written
  bool motion_unknown = false;
  friend bool operator==(Carried const&, Carried const&) = default;
};

/// The words of a state block at the head of a program, to be added up.
namespace state_word {
inline constexpr std::uint8_t units = 1;         ///< G20 or G21
inline constexpr std::uint8_t plane = 2;         ///< G17, G18 or G19
inline constexpr std::uint8_t distance = 4;      ///< G90 or G91
inline constexpr std::uint8_t feed_mode = 8;     ///< G93, G94 or G95
inline constexpr std::uint8_t cycle = 16;        ///< G80
inline constexpr std::uint8_t compensation = 32; ///< G40
inline constexpr std::uint8_t all = 63;
} // namespace state_word

/// What holds a program together but does nothing on the machine.
enum class LayoutKind : std::uint8_t {
  blank, ///< nothing on the line, or only an N word
  modes, ///< only modal words that later motions already carry (units, plane, distance, feed, cycle off ...)
  percent,        ///< %
  program_number, ///< O1234
  deleted,        ///< a block that block delete skips; text kept
  after_end,      ///< text behind the program's end; kept, never executed
  state,          ///< put in: words for the modes of its step, as many as `number` names (StateWord)
};
struct Layout {
  LayoutKind kind = LayoutKind::blank;
  std::int64_t number = 0; ///< the program number; of a state block a sum of StateWords
  friend bool operator==(Layout const&, Layout const&) = default;
};

using Event = std::variant<Motion, Cycle, Home, MachineMove, Probe, Dwell, SpindleTurn, SpindleSpeed,
                           ToolSelect, ToolChange, Coolant, Stop, Override, WorkOffset, LengthOffset,
                           PathControl, Compensation, OffsetChange, SetOrigin, Comment, Carried, Layout>;

/// One item of the stream. All steps of one block follow each other, in the standard's order of execution; a
/// block with no effect of its own still gives one step (Layout), so that no line of the program is lost.
struct Step {
  Event event;
  text::Place
      place;   ///< the block it comes from; a generated step carries the place of the block that caused it
  Modes modes; ///< the source's modal state before the block (same for all steps of a block)
  bool first_in_block = true;
  bool last_in_block = true;
  bool optional = false;          ///< the block begins with block delete ("/")
  std::uint8_t delete_switch = 0; ///< of an optional block: 1 to 9 for "/1" to "/9", 0 for a bare "/"
  bool touched = false;           ///< a stage changed this step: its block must be written afresh
  bool other_feed = false;        ///< a stage changed its feed: a text that names none stays right where the
                                  ///< control has that feed already
  bool generated = false;         ///< a stage added this step: there is no text for it
  /// Number, from 1, of the passage of the program (calls, loops: interpret/passages.hpp) whose text is
  /// written in place of this step; 0: none.
  std::uint32_t passage = 0;
};

struct Stretch;

/// A stream that is pulled, one step at a time. Every stage is one of these on top of another.
class StepSource {
public:
  StepSource() = default;
  StepSource(StepSource const&) = delete;
  StepSource& operator=(StepSource const&) = delete;
  virtual ~StepSource() = default;

  /// Gives the next step, or false at the end. Views inside a step (comment text) live as
  /// long as the input and the reader of the stream.
  virtual bool next(Step& step) = 0;

  /// Gives what comes next as a stretch of plain cuts (stretch.hpp). False when it is none, or the source has
  /// something to do with it: then next() gives it. Either may be asked at any time.
  virtual bool next_stretch(Stretch& /*stretch*/) { return false; }
};

/// The motion in a step, or null.
inline Motion* motion_of(Step& step) {
  return std::get_if<Motion>(&step.event);
}
inline Motion const* motion_of(Step const& step) {
  return std::get_if<Motion>(&step.event);
}
inline bool is_cutting(Motion const& motion) {
  return motion.path != PathKind::rapid;
}
inline bool is_arc(Motion const& motion) {
  return motion.path == PathKind::arc_cw || motion.path == PathKind::arc_ccw;
}

} // namespace restep::motion
