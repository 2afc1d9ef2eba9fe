#include "interpret/execute.hpp"

#include "interpret/word_users.hpp"
#include "motion/work_offset.hpp"

#include <fmt/format.h>

#include <cmath>

namespace restep::interpret {

using grammar::Word;

Executor::Executor(ReadRules const& rules, text::Findings& findings, StepQueue& queue)
    : rules_(rules)
    , findings_(findings)
    , queue_(queue)
    , codes_(rules.iso_units, rules.carried_g, rules.carried_m)
    , increment_mm_(std::llround(rules.least_increment_mm * picometres_per_mm))
    , increment_inch_(std::llround(rules.least_increment_inch * static_cast<double>(grammar::Decimal::one))) {
  if (rules.starts_in_inch) control_.modes.units = motion::Units::inch;
}

bool Executor::refuse(std::string_view code, std::string message, std::string_view hint, text::Span span) {
  return BlockReport(findings_, *line_).refuse(code, std::move(message), hint, span);
}

void Executor::lose_axes() {
  bool moves_origin = false;
  for (Word const& word : *words_.block) {
    if (word.letter >= 'X' && word.letter <= 'Z') control_.position.lose(word.letter - 'X');
    if (word.letter == 'M') control_.spindle_in_doubt = true;
    if (word.letter == 'F') control_.feed_in_doubt = true;
    if (word.letter != 'G') continue;
    control_.motion_in_doubt = control_.feed_in_doubt = true;
    std::int64_t const tenths = word.value.scaled / (grammar::Decimal::one / 10);
    Group const group = codes_.g(tenths);
    if (group == Group::motion && tenths <= 30) control_.modes.motion = static_cast<std::int16_t>(tenths);
    moves_origin = moves_origin || group == Group::unknown || group == Group::non_modal ||
                   group == Group::system || group == Group::length_offset || group == Group::carried;
  }
  if (!moves_origin) return;
  for (int axis = 0; axis < 3; ++axis)
    control_.position.lose(axis);
}

void Executor::lose_everything() {
  for (int axis = 0; axis < 3; ++axis)
    control_.position.lose(axis);
  control_.motion_in_doubt = control_.feed_in_doubt = control_.spindle_in_doubt = true;
}

bool Executor::run(grammar::WordBlock const& block, text::Line const& line) {
  line_ = &line;
  words_.block = &block;
  request_.kind = CallRequest::Kind::none;
  displaced_ = false;
  bool const done =
      words_.sort(block, codes_, rules_.strict_layout, BlockReport(findings_, line)) && run_checked();
  if (!done) {
    queue_.drop();
    lose_axes();
    return false;
  }
  if (queue_.size() == 0) {
    using enum motion::LayoutKind;
    queue_.push(motion::Layout{block.size == 0 ? blank : modes, 0});
  }
  return true;
}

bool Executor::run_checked() {
  constexpr std::uint32_t motion_only = std::uint32_t{1} << static_cast<unsigned>(Group::motion);
  motion_ = words_.code_or(Group::motion, control_.modes.motion);

  // Most blocks of most programs: a straight move and nothing else.
  if ((words_.groups & ~motion_only) == 0 && words_.m_groups == 0 && motion_ <= 10 && !words_.cancels_cycle &&
      words_.any(linear_letters) && !words_.any(~(linear_letters | letter_bit('F'))) &&
      words_.block->comments.empty()) {
    axis_user_ = AxisUser::motion;
    moves_ = true;
    return set_feed() && motion();
  }

  if (words_.calls_macro()) return request_macro();
  if (int const code = words_.code_or(Group::frame, 0); code == 510 || code == 511 || code == 680)
    return begin_frame();
  constexpr auto bit = [](Group group) { return std::uint32_t{1} << static_cast<unsigned>(group); };
  if (words_.groups &
      (bit(Group::non_modal) | bit(Group::length_offset) | bit(Group::system) | bit(Group::carried)))
    before_change_ = motion::unknown_position;
  if (!find_axis_user() || !check_frame() || !check_users() || !check_compensation()) return false;
  if (!program_number()) return false;
  comments();
  set_modes();
  end_frame();
  if (!polar_mode() || !set_feed() || !spindle_and_tool()) return false;
  carried();
  return dwell() && compensation() && length_offset() && work_offset() && path_control() && non_modal() &&
         motion() && stop();
}

bool Executor::program_number() {
  if (!words_.has('O')) return true;
  Word const& word = words_.word('O');
  std::int64_t number = 0;
  if (!whole(word, 0, 99'999'999, "a program number", number)) return false;
  if (rules_.strict_layout)
    return refuse("program-number", "RS274/NGC has no program number (O)", "leave the O word out", word.span);
  queue_.push(motion::Layout{motion::LayoutKind::program_number, number});
  return true;
}

void Executor::comments() {
  for (auto const& comment : words_.block->comments) {
    auto text = comment.text;
    bool const message = comment.style == grammar::CommentStyle::parentheses && strip_message_mark(text);
    queue_.push(motion::Comment{text, message});
  }
}

void Executor::note_stated() {
  namespace word = motion::state_word;
  if (words_.block->deleted) return; // it runs when the operator's switch is off
  if (words_.has(Group::units)) control_.stated |= word::units;
  if (words_.has(Group::plane)) control_.stated |= word::plane;
  if (words_.has(Group::distance)) control_.stated |= word::distance;
  if (words_.has(Group::feed_mode)) control_.stated |= word::feed_mode;
  if (words_.cancels_cycle || words_.code_or(Group::motion, 0) == 800) control_.stated |= word::cycle;
  if (words_.code_or(Group::compensation, 0) == 400) control_.stated |= word::compensation;
}

void Executor::set_modes() {
  note_stated();
  auto& modes = control_.modes;
  if (words_.has(Group::feed_mode)) {
    using enum motion::FeedMode;
    int const code = words_.code(Group::feed_mode);
    auto const mode = code == 930 ? inverse_time : code == 940 ? per_minute : per_revolution;
    // A feed number of the other kind means nothing any more.
    if (mode != modes.feed_mode) modes.feed = 0;
    modes.feed_mode = mode;
  }
  if (words_.has(Group::units)) {
    int const code = words_.code(Group::units);
    auto const units = code == 200 || code == 700 ? motion::Units::inch : motion::Units::mm;
    // Controls disagree on whether a feed in force is converted (NISTIR 6556, 4.3.3.3 keeps the number).
    if (units != modes.units && modes.feed_mode != motion::FeedMode::inverse_time) modes.feed = 0;
    modes.units = units;
  }
  if (words_.has(Group::plane)) {
    using enum motion::Plane;
    int const code = words_.code(Group::plane);
    auto const plane = code == 170 ? xy : code == 180 ? zx : yz;
    if (plane != modes.plane) {
      // What cycles keep belongs to the axis that is normal to the plane.
      control_.cycle = {};
      control_.initial_level_known = false;
    }
    modes.plane = plane;
  }
  if (words_.has(Group::distance))
    modes.distance =
        words_.code(Group::distance) == 900 ? motion::Distance::absolute : motion::Distance::incremental;
  if (words_.has(Group::arc_distance))
    modes.arc_distance =
        words_.code(Group::arc_distance) == 901 ? motion::Distance::absolute : motion::Distance::incremental;
  if (words_.has(Group::return_level))
    modes.return_level =
        words_.code(Group::return_level) == 980 ? motion::ReturnLevel::initial : motion::ReturnLevel::retract;
}

bool Executor::set_feed() {
  if (!words_.has('F')) return true;
  Word const& word = words_.word('F');
  if (word.value.scaled < 0)
    return refuse("negative-feed", fmt::format("the feed rate {} is negative", text(word)), "give F above 0",
                  word.span);
  control_.modes.feed = feed_of(word.value.scaled);
  control_.feed_in_doubt = false;
  return true;
}

/// What an F of so many billionths means in the units and the feed mode in force.
double Executor::feed_of(std::int64_t scaled) const {
  if (control_.modes.units == motion::Units::inch &&
      control_.modes.feed_mode != motion::FeedMode::inverse_time)
    return static_cast<double>(static_cast<long double>(scaled) * 25.4L / 1e9L);
  return static_cast<double>(scaled) / static_cast<double>(grammar::Decimal::one);
}

bool Executor::spindle_and_tool() {
  if (words_.has('S')) {
    Word const& word = words_.word('S');
    if (word.value.scaled < 0)
      return refuse("negative-speed", fmt::format("the spindle speed {} is negative", text(word)),
                    "give S from 0 up and choose the direction with M3 or M4", word.span);
    control_.rpm = word.value.value();
    queue_.push(motion::SpindleSpeed{control_.rpm});
  }
  if (words_.has('T')) {
    std::int64_t tool = 0;
    if (!whole(words_.word('T'), 0, 99'999'999, "a tool number", tool)) return false;
    control_.selected_tool = static_cast<int>(tool);
    queue_.push(motion::ToolSelect{control_.selected_tool});
  }
  if (words_.m_groups == 0) return true;
  if (words_.has(MGroup::tool_change)) {
    if (control_.selected_tool < 0)
      return refuse("tool-change-without-tool",
                    "M6 without a tool: no T word stands in this block or before it",
                    "write the tool number, such as T1 M6", words_.code_word(MGroup::tool_change).span);
    control_.rotation = motion::Rotation::stop;
    queue_.push(motion::ToolChange{control_.selected_tool});
  }
  if (words_.has(MGroup::spindle)) {
    using enum motion::Rotation;
    int const code = words_.code(MGroup::spindle);
    control_.rotation = code == 3 ? clockwise : code == 4 ? counter_clockwise : motion::Rotation::stop;
    control_.spindle_in_doubt = false;
    queue_.push(motion::SpindleTurn{control_.rotation});
  }
  if (words_.has(MGroup::coolant)) {
    using enum motion::CoolantKind;
    int const code = words_.code(MGroup::coolant);
    queue_.push(motion::Coolant{code == 7 ? mist : code == 8 ? flood : off});
  }
  if (words_.has(MGroup::overrides)) queue_.push(motion::Override{words_.code(MGroup::overrides) == 48});
  return true;
}

void Executor::carried() {
  if (words_.carried == 0) return;
  Letters used = used_letters();
  for (int i = 0; i < words_.carried; ++i) {
    std::size_t const first = words_.carried_index[static_cast<std::size_t>(i)];
    std::size_t const last = claim_following(*words_.block, first, used);
    text::Span const span{words_.block->words[first].span.begin, words_.block->words[last].span.end};
    queue_.push(motion::Carried{BlockReport(findings_, *line_).text(span), axis_user_ == AxisUser::carried});
  }
  if (axis_user_ == AxisUser::carried) forget_position();
}

bool Executor::compensation() {
  if (!words_.has(Group::compensation)) return true;
  int const code = words_.code(Group::compensation);
  motion::Compensation event;
  event.side = code == 400 ? motion::Side::off : code == 410 ? motion::Side::left : motion::Side::right;
  if (words_.has('D') && code != 400) {
    std::int64_t index = 0;
    if (!whole(words_.word('D'), 0, 99'999'999, "a tool table entry", index)) return false;
    event.index = static_cast<int>(index);
  }
  if (event.side == motion::Side::off && control_.side != motion::Side::off)
    control_.leaving_compensation = 3;
  control_.side = event.side;
  queue_.push(event);
  return true;
}

bool Executor::length_offset() {
  if (!words_.has(Group::length_offset)) return true;
  motion::LengthOffset event;
  event.active = words_.code(Group::length_offset) == 430;
  if (event.active) {
    if (!words_.has('H'))
      return refuse("length-offset-without-index", "G43 without H: which tool length is meant is not said",
                    "write the entry of the tool table, such as G43 H1",
                    words_.code_word(Group::length_offset).span);
    std::int64_t index = 0;
    if (!whole(words_.word('H'), 0, 99'999'999, "a tool table entry", index)) return false;
    event.index = static_cast<int>(index);
  }
  if (!control_.length_offset_stated || event != control_.length_offset) {
    control_.position.forget(2);
    control_.initial_level_known = false;
  }
  control_.length_offset_stated = true;
  control_.length_offset = event;
  queue_.push(event);
  return true;
}

bool Executor::work_offset() {
  if (!words_.has(Group::system)) return true;
  int const code = words_.code(Group::system);
  int system = code <= 590 ? code / 10 - 53 : code - 590 + 6;
  if (names_further_offset()) {
    std::int64_t number = 0;
    if (!words_.has('P'))
      return refuse("work-offset-without-number", "G54.1 without P: which work offset is meant is not said",
                    "write its number, such as G54.1 P1", words_.code_word(Group::system).span);
    if (!whole(words_.word('P'), 1, motion::most_further_work_offsets, "the number P of a work offset",
               number))
      return false;
    system = motion::standard_work_offsets + static_cast<int>(number);
  }
  if (system != control_.system) {
    for (int axis = 0; axis < 3; ++axis)
      control_.position.forget(axis);
    control_.initial_level_known = false;
  }
  control_.system = system;
  queue_.push(motion::WorkOffset{system});
  return true;
}

bool Executor::path_control() {
  if (!words_.has(Group::path)) return true;
  using enum motion::PathMode;
  int const code = words_.code(Group::path);
  motion::PathControl event{code == 610 ? exact_path : code == 611 ? exact_stop : continuous, 0};
  if (code == 640 && words_.has('P')) {
    Word const& word = words_.word('P');
    Picometres tolerance = 0;
    if (!read_length(word, tolerance)) return false;
    if (tolerance < 0)
      return refuse("negative-tolerance", fmt::format("the path tolerance {} is negative", text(word)),
                    "give a tolerance from 0 up", word.span);
    event.tolerance = in_mm(tolerance);
  }
  queue_.push(event);
  return true;
}

bool Executor::non_modal() {
  if (!words_.has(Group::non_modal)) return true;
  switch (words_.code(Group::non_modal)) {
  case 100: return set_origin();
  case 280:
  case 300: return home();
  case 520: return local_shift();
  case 920:
  case 921:
  case 922:
  case 923: return shift_by_g92();
  default: return true; // G4 has had its turn, G53 belongs to the motion
  }
}

bool Executor::motion() {
  if (words_.has(Group::motion) || words_.cancels_cycle) {
    bool const stays_in_cycles =
        is_cycle(motion_) && is_cycle(control_.modes.motion) && !words_.cancels_cycle;
    if (!stays_in_cycles) control_.initial_level_known = false;
    if (motion_ != control_.modes.motion || words_.cancels_cycle) control_.cycle = {};
    if (is_cycle(motion_) && !stays_in_cycles &&
        control_.position.known(motion::axes_of(control_.modes.plane).normal)) {
      control_.initial_level_known = true;
      control_.initial_level = control_.position.at(motion::axes_of(control_.modes.plane).normal);
    }
    control_.modes.motion = static_cast<std::int16_t>(motion_);
    control_.motion_in_doubt = false;
  }
  if (!moves_) return true;
  if (words_.has(Group::non_modal) && words_.code(Group::non_modal) == 530) return machine_move();
  if (motion_ == 0) return straight(motion::PathKind::rapid);
  if (motion_ == 10) return straight(motion::PathKind::line);
  if (is_arc_code(motion_)) return arc();
  if (is_cycle(motion_)) return cycle();
  return probe();
}

bool Executor::stop() {
  if (!words_.has(MGroup::stop)) return true;
  if (int const code = words_.code(MGroup::stop); is_call(code)) return request_call(code);
  using enum motion::StopKind;
  switch (words_.code(MGroup::stop)) {
  case 0: queue_.push(motion::Stop{program}); break;
  case 1: queue_.push(motion::Stop{optional}); break;
  case 60: queue_.push(motion::Stop{pallet}); break;
  case 2: queue_.push(motion::Stop{end}); break;
  default: queue_.push(motion::Stop{end_rewind}); break;
  }
  if (int const code = words_.code(MGroup::stop); code == 2 || code == 30) {
    control_.reset_at_end();
    ended_ = true;
  }
  return true;
}

bool Executor::whole(Word const& word, std::int64_t low, std::int64_t high, std::string_view what,
                     std::int64_t& number) {
  if (whole_number(word.value, number) && number >= low && number <= high) return true;
  return refuse("whole-number-expected",
                fmt::format("{} must be a whole number from {} to {}, found {}", what, low, high, text(word)),
                "", word.span);
}

} // namespace restep::interpret
