#pragma once

#include "random_values.hpp"

#include <algorithm>
#include <map>
#include <string>
#include <vector>

/// Random valid programs of the whole language of NISTIR 6556 but for probing and cutter compensation: values
/// of every form, parameters and when they count, modes changed in mid-program, arcs, cycles, offsets.
namespace restep::property {

class LanguageProgrammer : ProgramWriter {
public:
  /// With `offsets` the program changes offsets and goes home, so that positions are lost and found.
  LanguageProgrammer(ReferenceControl const& control, bool offsets)
      : ProgramWriter(control)
      , skips_(control.skips)
      , offsets_(offsets) {}

  std::string program(int blocks) {
    for (char const* line : {"G21 G17 G90 G94 G98", "T1 M6", "S900 M3", "#1=2.5 #2=-30 #3=7"})
      emit(line);
    for (int i = 0; i < blocks; ++i)
      block();
    flush();
    emit(*rc::gen::element<std::string>("M2", "M30", "m[15*2]"));
    emit("G0 X1 (behind the end)");
    return program_;
  }

private:
  bool skips_, offsets_;
  std::map<std::string, std::string> modes_; ///< modal words that the next block will hold, by group
  double unit_ = 1;
  bool incremental_ = false, inverse_ = false, feed_given_ = false;
  int plane_ = 17;
  bool known_[3] = {};
  bool cycle_open_ = false; ///< the values of the cycle in force may be counted on

  static char axis_letter(int axis) { return static_cast<char>('X' + axis); }
  int normal() const { return plane_ == 17 ? 2 : plane_ == 18 ? 1 : 0; }
  int first() const { return (normal() + 1) % 3; }
  int second() const { return (normal() + 2) % 3; }
  bool all_known() const { return known_[0] && known_[1] && known_[2]; }
  void forget_all() { known_[0] = known_[1] = known_[2] = cycle_open_ = false; }

  // Words.

  /// A word for an axis that is to stand at `place` (mm).
  void axis_word(int axis, double place) {
    double const from = reference_.place(axis);
    word(axis_letter(axis), real((incremental_ && known_[axis] ? place - from : place) / unit_));
  }
  void feed(bool needed) {
    if (!needed && coin()) return;
    word('F', real(pick(100, 30000) / 10.0));
    feed_given_ = true;
  }
  void cutting_feed() { feed(inverse_ || !feed_given_); }

  /// Modal words wait for the next block or go into one of their own.
  void mode(std::string const& group, std::string text) {
    if (modes_.count(group)) flush();
    modes_[group] = std::move(text);
    if (coin()) flush();
  }
  void flush() {
    std::string line;
    for (auto const& [group, text] : modes_)
      line += (line.empty() ? "" : " ") + text;
    modes_.clear();
    if (!line.empty()) emit(line);
  }

  /// Writes the block: its words and the modal ones in any order.
  void finish() {
    for (auto const& [group, text] : modes_)
      words_.push_back(text);
    modes_.clear();
    for (std::size_t i = words_.size(); i > 1 && coin(); --i)
      std::swap(words_[i - 1], words_[static_cast<std::size_t>(pick(0, static_cast<int>(i)))]);
    std::string line;
    if (rarely()) line = fmt::format("N{} ", pick(0, 99999));
    bool const tight = coin();
    for (auto const& text : words_)
      line += (tight || line.empty() ? "" : " ") + text;
    if (rarely()) line += *rc::gen::element<std::string>(" (bell yoke)", " ; to the shoulder", "(a)(b)");
    words_.clear();
    emit(line);
  }

  // Blocks.

  void block() {
    switch (pick(0, offsets_ ? 20 : 16)) {
    case 0: return change_distance();
    case 1: return change_plane();
    case 2: return change_feed_mode();
    case 3: return change_units();
    case 4: return mode("return", code(coin() ? 980 : 990));
    case 5: return set_parameters();
    case 6: return dwell();
    case 7: return deleted();
    case 8: return with_company();
    case 9:
    case 10: return all_known() ? arc() : state();
    case 11: return all_known() ? radius_arc() : state();
    case 12:
    case 13: return all_known() ? cycle() : state();
    case 16:
    case 17: return offset();
    case 18: return home();
    case 19: return machine_move();
    default: straight();
    }
  }

  void change_distance() {
    incremental_ = !incremental_;
    mode("distance", code(incremental_ ? 910 : 900));
  }
  void change_plane() {
    cycle_open_ = false;
    plane_ = pick(17, 20);
    mode("plane", code(plane_ * 10));
  }
  void change_feed_mode() {
    cycle_open_ = false;
    inverse_ = !inverse_;
    feed_given_ = false;
    mode("feed", code(inverse_ ? 930 : 940));
  }
  void change_units() {
    cycle_open_ = false;
    unit_ = unit_ == 1 ? 25.4 : 1;
    if (!inverse_) feed_given_ = false;
    // Behind this block: what F and P of G4 count in is not in question then.
    mode("units", code(unit_ == 1 ? 210 : 200));
    flush();
  }
  void end_cycles() {
    if (!cycle_open_) return;
    cycle_open_ = false;
    flush();
    emit("G80");
  }

  void set_parameters() {
    int const index = pick(1, 4);
    std::string line = fmt::format("#{}={}", index, expression(pick(-300, 300) / 10.0));
    // Of two settings the last one counts; both see the value from before.
    if (coin()) line += fmt::format(" #{0}=[#{0}+{1}]", index, pick(1, 5));
    if (reference_.values().get(std::to_string(index)) > 90) line = fmt::format("#{}=1", index);
    emit(line);
  }

  void dwell() {
    flush();
    words_ = {code(40)};
    word('P', real(pick(0, 40) / 10.0));
    if (coin()) word('S', whole(pick(1, 3000)));
    finish();
  }

  void deleted() {
    end_cycles();
    flush();
    std::string line = "/";
    line += incremental_ ? "G90 G0" : "G0";
    for (int axis = 0; axis < 3; ++axis)
      line += fmt::format(" {}{}", axis_letter(axis), literal(pick(-900, 900) / 10.0));
    line += fmt::format(" #{}={}", pick(1, 4), pick(1, 9));
    emit(line);
    if (skips_) return;
    incremental_ = false;
    known_[0] = known_[1] = known_[2] = true;
  }

  /// The motion word, where it is not in force already.
  void motion_word(int tenths) {
    if (reference_.motion() != tenths || coin()) words_.push_back(code(tenths));
    if (tenths < 800) cycle_open_ = false;
  }

  void straight() {
    bool const rapid = coin();
    if (!rapid) cutting_feed();
    int const only = pick(0, 3);
    bool reached[3] = {};
    for (int axis = 0; axis < 3; ++axis) {
      if (axis != only && coin()) continue;
      axis_word(axis, pick(-900'000, 900'000) / 1e4);
      reached[axis] = !incremental_;
    }
    motion_word(rapid ? 0 : 10);
    finish();
    for (int axis = 0; axis < 3; ++axis)
      known_[axis] = known_[axis] || reached[axis];
  }

  /// A rapid that states every axis.
  void state() {
    if (incremental_) change_distance();
    for (int axis = 0; axis < 3; ++axis)
      axis_word(axis, pick(-900'000, 900'000) / 1e4);
    motion_word(0);
    finish();
    known_[0] = known_[1] = known_[2] = true;
  }

  /// What shares a block with a move: its place in the order of execution is what counts.
  void with_company() {
    static char const* const others[5][4] = {{"M3", "M4", "M5", "M3"},
                                             {"M7", "M8", "M9", "M8"},
                                             {"M48", "M49", "M48", "M49"},
                                             {"M0", "M1", "M60", "M1"},
                                             {"G61", "G61.1", "G64", "G64"}};
    end_cycles();
    if (coin()) word('S', whole(pick(1, 9000)));
    if (coin()) word('T', whole(pick(0, 40)));
    if (rarely()) word('M', whole(6));
    int const left_out = pick(0, 5); // no more than four M words
    for (int group = 0; group < 5; ++group)
      if (group != left_out && coin()) words_.emplace_back(others[group][pick(0, 4)]);
    while (std::count_if(words_.begin(), words_.end(), [](auto const& w) { return w[0] == 'M'; }) > 4)
      words_.pop_back();
    straight();
  }

  /// Some quarters of a turn, so that the end lies on the circle.
  void arc() {
    int const quarters = pick(1, 5);
    bool const counter = coin();
    long long offset[2] = {pick(1, 200'000), rarely() ? 0 : pick(-200'000, 200'000)};
    long long arm[2] = {-offset[0], -offset[1]};
    for (int i = 0; i < quarters; ++i) {
      long long const before = arm[0];
      arm[0] = counter ? -arm[1] : arm[1];
      arm[1] = counter ? before : -before;
    }
    cutting_feed();
    int const axes[2] = {first(), second()};
    bool const one_word = offset[1] + arm[1] == 0 && coin();
    for (int i = 0; i < 2; ++i)
      if (i == 0 || !one_word)
        axis_word(axes[i], reference_.place(axes[i]) + static_cast<double>(offset[i] + arm[i]) / 1e4);
    if (coin()) axis_word(normal(), reference_.place(normal()) + pick(-9000, 9000) / 1e4);
    for (int i = 0; i < 2; ++i)
      if (i == 0 || offset[1] != 0 || coin())
        word(static_cast<char>('I' + axes[i]), real(static_cast<double>(offset[i]) / 1e4 / unit_));
    motion_word(counter ? 30 : 20);
    finish();
  }

  void radius_arc() {
    int const axes[2] = {first(), second()};
    cutting_feed();
    axis_word(axes[0], reference_.place(axes[0]) + pick(20'000, 100'000) / 1e4);
    axis_word(axes[1], reference_.place(axes[1]) + pick(-100'000, 100'000) / 1e4);
    if (rarely()) axis_word(normal(), reference_.place(normal()) + pick(-9000, 9000) / 1e4);
    word('R', real((coin() ? 1 : -1) * pick(150'000, 900'000) / 1e4 / unit_));
    motion_word(coin() ? 20 : 30);
    finish();
  }

  void cycle() {
    if (inverse_) change_feed_mode();
    flush();
    int const now = reference_.motion();
    bool const goes_on = cycle_open_ && now >= 810 && coin();
    int const tenths = goes_on ? now : pick(81, 90) * 10;
    int const cycle = tenths / 10;
    if (!goes_on && cycle == 84 && reference_.spindle() != 3) emit("M3");
    if (!goes_on && cycle >= 86 && cycle <= 88 && reference_.spindle() == 5) emit(coin() ? "M3" : "M4");
    bool const first_use = !goes_on || now != tenths || !cycle_open_;

    for (int const axis : {first(), second()})
      if (axis == first() || coin()) axis_word(axis, reference_.place(axis) + pick(-90'000, 90'000) / 1e4);
    heights(first_use);
    if (cycle == 83 && (first_use || coin())) word('Q', real(pick(20'000, 90'000) / 1e4 / unit_));
    bool const dwells = cycle == 82 || cycle == 86 || cycle == 88 || cycle == 89;
    if (dwells && (first_use || coin())) word('P', real(pick(1, 30) / 10.0));
    if (cycle == 87 && first_use)
      for (char const letter : {'I', 'J', 'K'})
        word(letter, real(pick(-30'000, 30'000) / 1e4 / unit_));
    if (coin()) word('L', whole(pick(1, 5)));
    feed(!feed_given_);
    if (first_use || coin()) words_.push_back(code(tenths));
    finish();
    cycle_open_ = true;
  }

  /// R and the bottom, or what is kept of them where that still makes a hole.
  void heights(bool both) {
    double const level = reference_.place(normal());
    double retract = both ? 0 : reference_.retract_number();
    double const kept = both ? 0 : reference_.bottom_number();
    bool const new_retract = both || coin();
    if (new_retract) retract = (incremental_ ? 0 : level) + pick(-20'000, 20'000) / 1e4;
    bool const new_bottom = both || coin() || kept > (incremental_ ? 0 : retract);
    if (new_retract) word('R', real(retract / unit_));
    double const bottom = (incremental_ ? 0 : retract) - pick(10, 90'000) / 1e4;
    if (new_bottom) word(axis_letter(normal()), real(bottom / unit_));
  }

  // Offsets: nothing is known of the position afterwards but what the block says.

  void end_and_flush() {
    end_cycles();
    flush();
  }

  void offset() {
    end_and_flush();
    if (coin())
      for (int more = pick(2, 5); more > 0; --more)
        shift();
    switch (pick(0, 7)) {
    case 0: emit(code(pick(54, 60) * 10)); return forget_all();
    case 1: emit(fmt::format("G59.{}", pick(1, 4))); return forget_all();
    case 2: emit(coin() ? fmt::format("G43 H{}", pick(1, 5)) : "G49"); return forget_all();
    case 3:
    case 4:
    case 5: return shift();
    default: return origins();
    }
  }

  /// An origin of the system in force moves the tool's coordinates, once the one before is known.
  void origins() {
    int const system = pick(1, 10);
    bool const in_force = coin();
    if (in_force) {
      emit(code(system <= 6 ? (system + 53) * 10 : 584 + system));
      forget_all();
    }
    for (int more = pick(1, 4); more > 0; --more) {
      if (coin()) state();
      flush();
      if (incremental_) words_.push_back(code(900));
      incremental_ = false;
      word('P', whole(in_force ? system : pick(1, 10)));
      named_axes(coin() ? "G10 L2" : "L[1+1] G10", false);
    }
  }

  void shift() {
    switch (pick(0, 5)) {
    case 0: emit(fmt::format("G92.{}", pick(1, 4))); return forget_all();
    case 1: return named_axes("G52", false);
    default: named_axes("G92", true);
    }
  }
  void named_axes(std::string const& text, bool known_after) {
    words_.push_back(text);
    int const only = pick(0, 3);
    bool named[3] = {};
    for (int axis = 0; axis < 3; ++axis) {
      if (axis != only && coin()) continue;
      word(axis_letter(axis), real(pick(-900'000, 900'000) / 1e4 / unit_));
      named[axis] = true;
    }
    finish();
    for (int axis = 0; axis < 3; ++axis)
      if (named[axis]) known_[axis] = known_after;
  }

  void home() {
    end_and_flush();
    words_.push_back(code(coin() ? 280 : 300));
    for (int axis = 0; axis < 3; ++axis) {
      if (coin()) continue;
      if (incremental_ && !known_[axis])
        word(axis_letter(axis), "0");
      else
        axis_word(axis, pick(-900'000, 900'000) / 1e4);
    }
    finish();
    forget_all();
  }

  void machine_move() {
    end_and_flush();
    if (incremental_) words_.push_back(code(900));
    incremental_ = false;
    bool const rapid = coin() || inverse_;
    if (!rapid) feed(!feed_given_);
    words_.push_back(code(rapid ? 0 : 10));
    named_axes("G53", false);
  }
};

} // namespace restep::property
