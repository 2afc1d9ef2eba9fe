#pragma once

#include "grammar/cuts.hpp"
#include "interpret/block_words.hpp"
#include "interpret/codes.hpp"
#include "interpret/control.hpp"
#include "interpret/flow.hpp"
#include "interpret/rules.hpp"
#include "interpret/step_queue.hpp"
#include "motion/arc.hpp"
#include "motion/stretch.hpp"

#include <cstdint>
#include <utility>

namespace restep::interpret {

/// Executes blocks: words and modal state -> steps, in the standard's order (NISTIR 6556, table 8).
class Executor {
public:
  Executor(ReadRules const& rules, text::Findings& findings, StepQueue& queue);

  /// Executes one block into the queue (which was begun for it). False when the block was refused: the queue
  /// is then empty, the finding is made and what the block would have set counts as unknown.
  bool run(grammar::WordBlock const& block, text::Line const& line);

  /// The words of a block could not be read at all: everything it may have set counts as unknown.
  void lose_everything();

  Control const& control() const { return control_; }
  /// M2 or M30 was executed.
  bool ended() const { return ended_; }
  /// The place of the tool in the active work offset.
  motion::Vec3 placed_position() const { return control_.frame.place(control_.position.mm()); }
  /// The text of the last block means something else than its steps say: coordinates are turned, scaled,
  /// mirrored or polar, or were until then.
  bool displaced() const { return displaced_ || control_.frame.active() || control_.polar; }
  /// The call or return that the last block asks for.
  CallRequest const& request() const { return request_; }
  /// Which parameters the control has written since this was asked last: their values are no longer known.
  enum class Written : std::uint8_t { none, probe_results, all };
  Written take_written() { return std::exchange(written_, Written::none); }

  /// A block of which some words' values are not known: it is carried unchanged where it only moves the tool,
  /// and nothing is known about the position afterwards. Otherwise it is refused with `why`. `unknown` holds
  /// those words as indices into the block.
  bool carry(grammar::WordBlock const& block, text::Line const& line,
             std::vector<std::uint8_t> const& unknown, grammar::ParseError const& why);
  /// A call of a subprogram that is not in this file: its words are carried unchanged.
  void carry_call(text::Span span, text::Line const& line);

  // cuts.cpp

  /// A block of nothing but axis words would be a straight cut from a known place to another one, and its
  /// coordinates are what its text says.
  bool cuts_plainly() const;
  /// Such a cut, but for its ends.
  motion::Motion plain_cut() const;
  /// What holds in front of many such blocks.
  grammar::CutRules begin_cuts(grammar::CutLines& lines) const;
  /// Executes them. Gives how many: up to the first that is to be refused.
  std::size_t take_cuts(grammar::CutLines const& lines, motion::StretchColumns& columns);

private:
  /// Who uses the axis words of the block.
  enum class AxisUser : std::uint8_t { none, motion, non_modal, dwell, carried, frame };

  ReadRules const& rules_;
  text::Findings& findings_;
  StepQueue& queue_;
  CodeTable codes_;
  Picometres increment_mm_;     ///< least increments
  std::int64_t increment_inch_; ///< 1e-9 inch
  Control control_;

  BlockWords words_;
  text::Line const* line_ = nullptr;
  AxisUser axis_user_ = AxisUser::none;
  bool moves_ = false; ///< a motion of group 1 is carried out
  int motion_ = 800;   ///< the motion code in force for this block
  AxisSet blind_ = 0;  ///< axes that the block moves by a known way from an unknown place
  bool ended_ = false;
  CallRequest request_;
  Written written_ = Written::none;
  bool displaced_ = false;
  bool said_dwell_ = false;
  double polar_radius_ = motion::unknown, polar_angle_ = motion::unknown; ///< mm, degrees
  /// Where the tool stood when a frame changed, for axes whose coordinates are not known since then.
  motion::Vec3 before_change_ = motion::unknown_position;

  bool refuse(std::string_view code, std::string message, std::string_view hint, text::Span span);
  std::string_view text(grammar::Word const& word) const {
    return BlockReport(findings_, *line_).text(word.span);
  }
  void lose_axes();

  // checks before anything is executed
  bool run_checked();
  bool find_axis_user();
  bool check_users();
  Letters used_letters() const;
  bool check_compensation();

  // the order of execution
  void note_stated();
  void set_modes();
  bool set_feed();
  double feed_of(std::int64_t scaled) const;
  bool spindle_and_tool();
  bool compensation();
  bool length_offset();
  bool work_offset();
  bool names_further_offset() const;
  bool path_control();
  bool non_modal();
  bool motion();
  bool stop();
  void carried();
  void comments();
  bool request_call(int code);
  bool request_macro();
  void forget_position();
  bool program_number();

  // motion.cpp, arcs.cpp
  bool read_length(grammar::Word const& word, Picometres& length);
  Picometres counted(grammar::Decimal const& value) const;
  bool targets(Position& target);
  bool straight(motion::PathKind path);
  bool check_arc_words(motion::PlaneAxes axes);
  bool arc();
  bool arc_centre_from_offsets(motion::PlaneAxes axes, Position const& target, motion::Vec3& centre);
  bool arc_centre_from_radius(motion::PlaneAxes axes, Position const& target, motion::Vec3& centre);
  bool machine_move();
  bool probe();
  bool feed_given(grammar::Word const& at);
  void place(motion::Motion& move);
  void put(motion::PathKind path, motion::Vec3 const& from, motion::Vec3 const& centre);
  double arc_tolerance() const;
  grammar::Word const& motion_word() const;

  // offsets.cpp
  bool home();
  bool set_origin();
  void store_origin(motion::SetOrigin const& event);
  void name_this_point(motion::SetOrigin& event);
  bool shift_by_g92();
  bool local_shift();
  void replace_shift(KnownLengths const& next);

  // frames.cpp
  bool begin_frame();
  void end_frame();
  void forget_places(Frame::Kind kind);
  bool check_frame();
  bool check_turned_target(Position const& target);
  bool polar_target(Position& target);
  bool polar_mode();

  // dwells.cpp
  bool dwell();
  bool seconds(grammar::Word const& word, double& result);
  void doubt_dwell(grammar::Word const& word, double seconds);

  // cycles.cpp
  bool cycle();
  bool read_sticky(StickyCycle& next);
  bool repeats_of_cycle(std::int64_t& repeats);
  /// The axis word that gives the bottom of a hole.
  char bottom_letter() const { return static_cast<char>('X' + motion::axes_of(control_.modes.plane).normal); }
  bool whole(grammar::Word const& word, std::int64_t low, std::int64_t high, std::string_view what,
             std::int64_t& number);
};

} // namespace restep::interpret
