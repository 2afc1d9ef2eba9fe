#pragma once

#include "dialect/block_text.hpp"
#include "dialect/control.hpp"
#include "dialect/profile.hpp"
#include "dialect/writer.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "text/finding.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <string_view>

namespace restep::dialect {

/// Events whose words neither depend on the modes nor change them: they may be put anywhere.
bool is_modeless(motion::Event const& event);

/// Writes steps as new blocks, with the words that the control's state needs and no others. One action to a
/// block; only S with M3 or M4, and T with M6, share one.
class FreshBlocks {
public:
  /// `out` receives the text. With `same_dialect` words that restep does not know may be carried.
  FreshBlocks(Dialect const& dialect, text::Findings& findings, std::function<void(std::string_view)> out,
              BlockWriter::Count& count, bool same_dialect);

  void write(motion::Step const& step);
  /// The same of plain cuts, for most of which a few words are to be said and nothing else is to be asked.
  void write(motion::Stretch const& cuts);

  /// Writes what waits for a partner (an S for its M3, a T for its M6, a comment for its block).
  void flush();

  /// Brings the control's plane, distance modes and return level to the given ones in a block of words.
  void restate(motion::Modes const& modes);

  /// The last line of the program, where the dialect has one.
  void finish();

  /// The step belongs to the state block at the head: it says what is in force anyway.
  bool states_head(motion::Step const& step) const;

  Control& control() { return control_; }
  /// The end of the lines written from here on.
  void set_line_end(std::string_view end) { line_end_ = end; }

private:
  Dialect const& dialect_;
  text::Findings& findings_;
  std::function<void(std::string_view)> out_;
  BlockWriter::Count& count_;
  bool same_dialect_;

  Control control_;
  std::string line_end_;
  std::int64_t line_number_;
  bool begun_;                    ///< the percent line is behind us
  bool numbered_;                 ///< the program number is behind us, or there is none
  std::string before_number_;     ///< comments that stand before it
  bool modes_were_given_ = false; ///< the source has stated modes that are not yet written

  BlockText block_;
  std::string line_;                   ///< the line being put together
  std::string lines_;                  ///< those of plain cuts
  motion::Step const* step_ = nullptr; ///< the step being written
  bool optional_ = false;              ///< lines begin with "/"
  std::optional<double> pending_speed_;
  std::optional<int> pending_tool_;
  bool pending_optional_ = false;
  char delete_switch_ = 0; ///< behind the "/"; 0: none
  std::string pending_comment_;

  std::set<std::string> told_;
  std::optional<text::Place> tool_change_to_stop_for_; ///< a dropped M6 since which nothing stopped
  bool stopped_ = false;                               ///< a program stop since the last motion
  bool moved_ = false;
  bool changes_tool_ = false; ///< the block being put together does
  bool cancelled_ = false;    ///< the state block has said the G40 that comes next
  bool name_motion_ = false;  ///< the next move names its code though it is in force: people read it too
  std::vector<motion::Event> pieces_;

  struct WriteEvent;
  friend struct WriteEvent;

  // lines
  void begin_program();
  void number_program(std::int64_t number);
  void end_block();
  void end_state_block(); ///< the same for words of our own, which a waiting comment does not belong to
  void begin_line(bool with_number);
  std::size_t room();
  void put_line(std::string_view text, bool with_number);
  bool is_numbered() const;
  void write_comment(std::string_view text, bool message);
  /// Parted at blanks where one line is too short; `keyword` ("MSG," or none) stands in each.
  void put_comment_lines(std::string_view keyword, std::string_view text);
  std::string marked(std::string_view keyword, std::string_view text) const;

  // what the dialect lacks
  void warn_once(std::string code, std::string message, std::string hint);
  void note_once(std::string code, std::string message, std::string hint);
  void refuse(std::string code, std::string message, std::string hint);

  // state
  void prepare();
  void state_modes(bool cancel_compensation = false);
  void write_head_state(std::int64_t words);
  motion::Units wanted_units() const;
  motion::Units units_for(motion::Units own) const;
  void leave_cycle();
  void add_distance(motion::Distance distance);
  void add_code_if_new(int motion_code);
  void add_plane(motion::Plane plane);

  // numbers
  static constexpr char axis_letters[] = "XYZ";
  double mm_per_unit() const;
  int decimals(char letter) const;
  std::optional<std::int64_t> to_digits(char letter, double mm);
  double to_mm(char letter, std::int64_t digits) const;
  /// The length that the written word for `mm` means.
  double rounded(char letter, double mm);
  double rounded(int axis, double mm) { return rounded(axis_letters[axis], mm); }
  /// An axis word, and the place to which it takes the control.
  struct AxisWord {
    std::int64_t digits;
    double place; ///< mm
  };
  /// How the dialect says a move to `to`: by distances only from places that the control knows.
  motion::Distance distance_mode(motion::Vec3 const& to) const;
  std::optional<AxisWord> axis_word(int axis, double target, motion::Distance mode);
  /// The word to write for an axis; nothing when the control stands there already.
  std::optional<AxisWord> word_for(int axis, double target, motion::Distance mode);
  void add_axis(int axis, double target, motion::Distance mode = motion::Distance::absolute);
  void add_axis_word(int axis, AxisWord word);
  void add_length(char letter, double mm);
  void add_dwell(double seconds);

  // motion
  struct Feed {
    motion::FeedMode mode = motion::FeedMode::per_minute;
    double value = 0;
  };
  std::optional<Feed> feed_of(motion::FeedMode mode, double value, motion::Motion const& move);
  void add_feed_mode(Feed const& feed);
  void add_feed(Feed const& feed);
  /// The feed need not be said: it is, or was rounded to, what the control has.
  bool is_feed_in_force(double wanted, double written) const;
  void write_motion(motion::Motion const& m);
  void write_straight(motion::PathKind path, motion::Vec3 const& to, Feed const& feed);
  /// The words of the axes that move, or of all where the dialect repeats them.
  void add_axes(motion::Vec3 const& to, unsigned needed, motion::Distance mode);
  void note_motion();

  // plain cuts
  bool takes_plain_cuts(motion::Stretch const& cuts) const;
  std::size_t write_cuts(motion::Stretch const& cuts, std::size_t first);

  void write_arc(motion::Motion const& m);
  bool may_be_arc_block(motion::Motion const& m) const;
  void write_arc_pieces(motion::Motion const& m, double begin, double end, Feed const& feed);
  bool write_arc_piece(motion::Motion const& m, double begin, double end, Feed const& feed);
  void write_chords(motion::Motion const& m, double begin, double end, Feed const& feed);

  void write_cycle(motion::Cycle const& c);
  bool write_cycle_block(motion::Cycle const& c);
  void expand_cycle(motion::Cycle const& c);

  void write_home(motion::Home const& h);
  void write_machine_move(motion::MachineMove const& m);
  void write_probe(motion::Probe const& p);
  void write_offset_change(motion::OffsetChange const& o);
  void write_set_origin(motion::SetOrigin const& o);
  void write_work_offset(motion::WorkOffset const& w);
  void write_length_offset(motion::LengthOffset const& l);
  void write_tool_change(motion::ToolChange const& t);
  void write_stop(motion::Stop const& s);
  void write_layout(motion::Layout const& l);
  void write_carried(motion::Carried const& c);
  void write_words(char letter, int tenths);
};

} // namespace restep::dialect
