#include "interpret/word_users.hpp"

#include "interpret/execute.hpp"

#include <fmt/format.h>

namespace restep::interpret {

using grammar::Word;

namespace {

bool takes_axis_words(int non_modal) {
  return non_modal == 100 || non_modal == 280 || non_modal == 300 || non_modal == 520 || non_modal == 920;
}

bool takes_dwell(int cycle) {
  return cycle == 740 || cycle == 760 || (cycle >= 820 && cycle <= 890 && cycle != 850 && cycle != 870);
}

} // namespace

std::size_t claim_following(grammar::WordBlock const& block, std::size_t code, Letters& used) {
  std::size_t last = code;
  while (last + 1 < block.size) {
    char const letter = block.words[last + 1].letter;
    if (letter == 'G' || letter == 'M' || used & letter_bit(letter)) break;
    used |= letter_bit(letter);
    ++last;
  }
  return last;
}

bool strip_message_mark(std::string_view& text) {
  std::size_t at = 0;
  for (char const wanted : std::string_view("MSG,")) {
    while (at < text.size() && (text[at] == ' ' || text[at] == '\t'))
      ++at;
    if (at == text.size()) return false;
    char const found =
        text[at] >= 'a' && text[at] <= 'z' ? static_cast<char>(text[at] - 'a' + 'A') : text[at];
    if (found != wanted) return false;
    ++at;
  }
  text.remove_prefix(at);
  return true;
}

std::string_view needed_by(char letter) {
  switch (letter) {
  case 'D': return "D names a radius for G41 or G42";
  case 'E': return "E is not a word of the language";
  case 'H': return "H names a tool length for G43";
  case 'I':
  case 'J':
  case 'K': return "I, J and K belong to arcs (G2, G3) and to the cycles G76 and G87";
  case 'L': return "L belongs to canned cycles, G10 and M98";
  case 'P': return "P belongs to G4, G10, G54.1, G64, M98 and cycles with a dwell";
  case 'Q': return "Q belongs to the cycles G73, G76 and G83";
  case 'R': return "R belongs to arcs (G2, G3) and canned cycles";
  default: return "no code of this block takes it";
  }
}

bool Executor::find_axis_user() {
  bool const stated = words_.has(Group::motion);
  bool const axis_words = words_.any(axis_letters);
  int const other = words_.code_or(Group::non_modal, -1);
  axis_user_ = AxisUser::none;
  moves_ = false;

  if (takes_axis_words(other)) {
    if (stated && motion_ != 800 && axis_words)
      return refuse("two-users-of-axis-words",
                    fmt::format("{} and {} both want the axis words of this block",
                                text(words_.code_word(Group::motion)),
                                text(words_.code_word(Group::non_modal))),
                    "put them on two lines", words_.code_word(Group::non_modal).span);
    axis_user_ = axis_words ? AxisUser::non_modal : AxisUser::none;
    return true;
  }
  if (other == 40 && axis_words && !stated) {
    if (!words_.has('P') && !words_.any(axis_letters & ~letters_of("XU")) && !rules_.strict_layout) {
      axis_user_ = AxisUser::dwell;
      return true;
    }
    return refuse("dwell-with-axis-words", "G4 does not move, but the block has axis words",
                  "put the move on a line of its own", words_.first_of(axis_letters).span);
  }
  if (words_.cancels_frame & 2 && axis_words && !stated && other < 0) {
    axis_user_ = AxisUser::frame;
    return true;
  }
  if (words_.has(Group::carried) && axis_words && !stated && other < 0) {
    axis_user_ = AxisUser::carried;
    return true;
  }
  if (axis_words) {
    if (motion_ == 800 && other != 530) {
      if (control_.motion_in_doubt && !stated) return true;
      return refuse("no-motion-mode",
                    stated ? "axis words beside G80: no motion mode is in force"
                           : "axis words, but no motion mode is in force",
                    "say how to move: G0, G1, G2 or G3", words_.first_of(axis_letters).span);
    }
    axis_user_ = AxisUser::motion;
    moves_ = true;
    return true;
  }
  // Without axis words: a full circle, or only a change of mode.
  if (is_arc_code(motion_) && words_.any(centre_letters | letter_bit('R')) && !rules_.strict_layout) {
    moves_ = true;
    return true;
  }
  if (other == 530)
    return refuse("machine-move-without-axes", "G53 without axis words", "name the axes that move",
                  words_.code_word(Group::non_modal).span);
  if (!stated || motion_ == 800) return true;
  if (motion_ <= 10 && !rules_.strict_layout) return true;
  return refuse("motion-without-axes",
                fmt::format("{} without axis words", text(words_.code_word(Group::motion))),
                "name the axes that move", words_.code_word(Group::motion).span);
}

/// G54.1 P3; where nothing else takes the P, controls read G54 P3 as the same.
bool Executor::names_further_offset() const {
  int const code = words_.code_or(Group::system, 0);
  if (code == 541) return true;
  if (code != 540 || !words_.has('P') || rules_.strict_layout) return false;
  int const other = words_.code_or(Group::non_modal, -1);
  bool const call = words_.has(MGroup::stop) && is_call(words_.code(MGroup::stop));
  bool const cycle = moves_ && is_cycle(motion_) && takes_dwell(motion_);
  return other != 40 && other != 100 && words_.code_or(Group::path, 0) != 640 && !call && !cycle &&
         words_.carried == 0;
}

Letters Executor::used_letters() const {
  Letters used = letters_of("FSTO");
  if (axis_user_ == AxisUser::motion || axis_user_ == AxisUser::non_modal) used |= axis_letters;
  if (axis_user_ == AxisUser::dwell) used |= letters_of("XU");
  if (axis_user_ == AxisUser::frame) used |= letters_of("XY");
  int const other = words_.code_or(Group::non_modal, -1);
  if (other == 40 && axis_user_ != AxisUser::dwell) used |= letter_bit('P');
  if (other == 100) {
    std::int64_t table = 0;
    bool const origin =
        words_.has('L') && whole_number(words_.word('L').value, table) && (table == 2 || table == 20);
    used |= origin ? letters_of("LP") : ~Letters{}; // other tables are refused as a whole
  }
  if (names_further_offset()) used |= letter_bit('P');
  if (words_.code_or(Group::length_offset, 0) == 430) used |= letter_bit('H');
  if (int const code = words_.code_or(Group::compensation, 400); code != 400) used |= letter_bit('D');
  if (words_.code_or(Group::path, 0) == 640 && !rules_.strict_layout) used |= letter_bit('P');
  if (words_.has(MGroup::stop) && is_call(words_.code(MGroup::stop))) used |= letters_of("PL");
  if (moves_ && is_arc_code(motion_)) used |= centre_letters | letter_bit('R');
  if (moves_ && is_cycle(motion_)) {
    bool const shifted = motion_ == 760 || motion_ == 870;
    used |= letter_bit('R');
    if (!rules_.repeats_in_k) used |= letter_bit('L');
    if (rules_.repeats_in_k && !shifted) used |= letter_bit('K');
    if (takes_dwell(motion_)) used |= letter_bit('P');
    if (motion_ == 730 || motion_ == 760 || motion_ == 830) used |= letter_bit('Q');
    if (shifted) used |= centre_letters;
  }
  return used;
}

bool Executor::check_users() {
  if (control_.motion_in_doubt && !words_.has(Group::motion) && axis_user_ == AxisUser::none) return true;
  Letters used = used_letters();
  for (int i = 0; i < words_.carried; ++i)
    claim_following(*words_.block, words_.carried_index[static_cast<std::size_t>(i)], used);
  if (Letters const idle = words_.letters & ~used) {
    Word const& word = words_.first_of(idle);
    return refuse("word-without-user",
                  fmt::format("{} has nothing to use it: {}", text(word), needed_by(word.letter)),
                  "leave it out, or add the code it belongs to", word.span);
  }
  bool const pause = words_.code_or(Group::non_modal, -1) == 40 && axis_user_ != AxisUser::dwell;
  bool const tolerance = words_.code_or(Group::path, 0) == 640;
  bool const cycle = moves_ && is_cycle(motion_) && takes_dwell(motion_);
  bool const call = words_.has(MGroup::stop) && is_call(words_.code(MGroup::stop));
  if (words_.has('L') && call && moves_ && is_cycle(motion_))
    return refuse("word-with-two-users",
                  fmt::format("two codes of this block want {}", text(words_.word('L'))),
                  "put one of them on a line of its own", words_.word('L').span);
  bool const offset = words_.code_or(Group::system, 0) == 541;
  bool const origin = words_.code_or(Group::non_modal, -1) == 100;
  if (words_.has('P') && pause + tolerance + cycle + call + offset + origin > 1)
    return refuse("word-with-two-users",
                  fmt::format("two codes of this block want {}", text(words_.word('P'))),
                  "put one of them on a line of its own", words_.word('P').span);
  return true;
}

bool Executor::check_compensation() {
  bool const was_on = control_.side != motion::Side::off;
  int const code = words_.code_or(Group::compensation, 0);
  if (code == 400 || (code == 0 && !was_on)) return true;
  constexpr std::string_view switch_off = "cancel compensation with G40 first";

  if (code != 0) {
    auto const span = words_.code_word(Group::compensation).span;
    if (was_on)
      return refuse("compensation-already-on",
                    fmt::format("{} while cutter compensation is already on",
                                text(words_.code_word(Group::compensation))),
                    switch_off, span);
    bool const xy = words_.has(Group::plane) ? words_.code(Group::plane) == 170
                                             : control_.modes.plane == motion::Plane::xy;
    if (!xy)
      return refuse("compensation-outside-xy", "cutter compensation works in the XY plane only",
                    "select G17 first", span);
  }

  auto const forbidden = [&](Word const& word) {
    return refuse("not-under-compensation", fmt::format("{} while cutter compensation is on", text(word)),
                  switch_off, word.span);
  };
  if (words_.has(Group::units)) {
    int const units = words_.code(Group::units);
    bool const inch = units == 200 || units == 700;
    if (inch != (control_.modes.units == motion::Units::inch))
      return forbidden(words_.code_word(Group::units));
  }
  if (words_.has(Group::plane) && words_.code(Group::plane) != 170)
    return forbidden(words_.code_word(Group::plane));
  if (words_.has(Group::system)) return forbidden(words_.code_word(Group::system));
  if (int const other = words_.code_or(Group::non_modal, 40); other != 40 && other != 100)
    return forbidden(words_.code_word(Group::non_modal));
  if (moves_ && (is_cycle(motion_) || is_probe(motion_))) return forbidden(motion_word());
  return true;
}

} // namespace restep::interpret
