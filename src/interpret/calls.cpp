// Calls, and blocks whose effect depends on what only the machine knows.
#include "interpret/execute.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

namespace restep::interpret {

using grammar::Word;

namespace {

/// Where a macro call puts the value of a letter: the first of the trade's two lists of arguments (common
/// practice, from memory); 0 for letters that are no argument.
constexpr int parameter_of(char letter) {
  constexpr int of[26] = {1, 2, 3, 7,  8,  9,  0,  11, 4,  5,  6,  0,  13,
                          0, 0, 0, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26};
  return of[letter - 'A'];
}

/// The second list: A, B and C as in the first, then up to ten sets of I, J and K, from #4 to #33. It is
/// meant as soon as one of the three is repeated (common practice, from memory). Controls number the sets
/// either by how often the letter came before, or by a new set wherever the letters do not go on in their
/// order; what the two put in different places is refused.
class SecondList {
public:
  static constexpr int most_sets = 10;

  static bool is_meant(grammar::WordBlock const& block) {
    int times[3] = {0, 0, 0};
    for (Word const& word : block)
      if (is_its_letter(word.letter) && ++times[word.letter - 'I'] > 1) return true;
    return false;
  }

  static bool is_its_letter(char letter) { return letter >= 'I' && letter <= 'K'; }

  /// The parameter of the next of its letters; nothing where the two ways of counting differ.
  std::optional<int> take(char letter) {
    int const place = letter - 'I';
    if (place <= last_place_) ++set_;
    last_place_ = place;
    if (++times_[place] != set_) return std::nullopt;
    return parameter_of('I') + 3 * (set_ - 1) + place;
  }

  int set() const { return set_; }

private:
  int times_[3] = {0, 0, 0};
  int set_ = 0;
  int last_place_ = 2;
};

} // namespace

void Executor::forget_position() {
  for (int axis = 0; axis < 3; ++axis)
    control_.position.forget(axis);
  control_.initial_level_known = false;
}

bool Executor::request_call(int code) {
  constexpr std::int64_t largest = 99'999'999;
  Word const& at = words_.code_word(MGroup::stop);
  if (rules_.strict_layout)
    return refuse("subprogram-call", fmt::format("RS274/NGC has no subprograms ({})", text(at)),
                  "post the program with the moves written out", at.span);
  using Kind = CallRequest::Kind;
  request_ = {};
  request_.span = at.span;
  if (words_.has('P')) {
    std::int64_t target = 0;
    if (!whole(words_.word('P'), 0, largest, "the target P of a call", target)) return false;
    request_.target = target;
  } else if (code != 99) {
    return refuse("call-without-target", fmt::format("{} without P: what is called is not said", text(at)),
                  "add P and the number", at.span);
  }
  if (words_.has('L')) {
    std::int64_t repeats = 0;
    if (!whole(words_.word('L'), 0, largest, "the repeats L of a call", repeats)) return false;
    if (code == 99)
      return refuse("return-with-repeats", "M99 with L: controls disagree on what it means",
                    "write the repeats at the call", words_.word('L').span);
    request_.repeats = repeats;
  }
  request_.kind = code == 97 ? Kind::local : code == 98 ? Kind::program : Kind::back;
  return true;
}

bool Executor::request_macro() {
  constexpr std::int64_t largest = 99'999'999;
  Word const& at = words_.code_word(Group::non_modal);
  request_ = {};
  request_.span = words_.whole();
  if (!words_.has('P'))
    return refuse("call-without-target", "G65 without P: what is called is not said", "add P and the number",
                  at.span);
  std::int64_t number = 0;
  if (!whole(words_.word('P'), 0, largest, "the target P of a call", number)) return false;
  request_.target = number;
  if (words_.has('L')) {
    if (!whole(words_.word('L'), 0, largest, "the repeats L of a call", number)) return false;
    request_.repeats = number;
  }
  bool const in_sets = SecondList::is_meant(*words_.block);
  SecondList sets;
  for (Word const& word : *words_.block) {
    if (&word == &at || word.letter == 'P' || word.letter == 'L') continue;
    int parameter = parameter_of(word.letter);
    if (in_sets && SecondList::is_its_letter(word.letter)) {
      auto const in_set = sets.take(word.letter);
      if (!in_set)
        return refuse(
            "macro-argument",
            fmt::format("{} behind G65 does not continue the sets of I, J and K: controls disagree on "
                        "which parameter it is",
                        text(word)),
            "write whole sets in the order I, J, K", word.span);
      if (sets.set() > SecondList::most_sets)
        return refuse("macro-argument",
                      fmt::format("more than {} sets of I, J and K behind G65", SecondList::most_sets), "",
                      word.span);
      parameter = *in_set;
    }
    auto const& given = request_.arguments;
    if (std::any_of(given.begin(), given.end(), [&](auto const& other) { return other.first == parameter; }))
      return refuse(
          "macro-argument",
          fmt::format("{} stands for #{}, which another argument has set already", text(word), parameter),
          "leave one of the two out", word.span);
    if (parameter == 0)
      return refuse("macro-argument", fmt::format("{} is no argument of a macro call", text(word)),
                    "put it on a line of its own", word.span);
    if (rules_.count_without_point && !word.value.point)
      return refuse("macro-argument",
                    fmt::format("{} has no decimal point: controls that count least increments disagree on "
                                "what such an argument is worth",
                                text(word)),
                    "write a decimal point", word.span);
    request_.arguments.emplace_back(parameter, word.value.value());
  }
  comments();
  request_.kind = CallRequest::Kind::macro;
  return true;
}

void Executor::carry_call(text::Span span, text::Line const& line) {
  line_ = &line;
  queue_.push(motion::Carried{BlockReport(findings_, *line_).text(span), true});
  forget_position();
  written_ = Written::all;
  // What it leaves in force is not known either: the program has to say how it goes on.
  control_.modes.motion = 800;
  control_.modes.feed = 0;
  control_.cycle = {};
}

bool Executor::carry(grammar::WordBlock const& block, text::Line const& line,
                     std::vector<std::uint8_t> const& unknown, grammar::ParseError const& why) {
  line_ = &line;
  words_.block = &block;
  request_.kind = CallRequest::Kind::none;
  BlockReport const report(findings_, line);
  auto const refuse_it = [&] {
    queue_.drop();
    lose_axes();
    return report.refuse(why.code, why.message, why.hint, why.span);
  };
  bool const unknown_axes = std::all_of(unknown.begin(), unknown.end(), [&](std::uint8_t index) {
    return (axis_letters | centre_letters | letter_bit('R')) & letter_bit(block.words[index].letter);
  });
  bool const macro = std::any_of(block.begin(), block.end(), [](Word const& word) {
    return word.letter == 'G' && word.value.scaled == 65 * grammar::Decimal::one;
  });
  bool const all_known_codes = std::none_of(unknown.begin(), unknown.end(), [&](std::uint8_t index) {
    return letters_of("GMNOP") & letter_bit(block.words[index].letter);
  });
  if (macro && all_known_codes && !rules_.strict_layout) {
    words_.block = &block;
    text::Span const whole = words_.whole();
    comments();
    carry_call(whole, line);
    return true;
  }
  if (!unknown_axes || rules_.strict_layout) return refuse_it();
  if (!words_.sort(block, codes_, rules_.strict_layout, report)) {
    queue_.drop();
    lose_axes();
    return false;
  }
  constexpr auto bit = [](Group group) { return std::uint32_t{1} << static_cast<unsigned>(group); };
  constexpr std::uint32_t moves = bit(Group::motion) | bit(Group::distance) | bit(Group::plane) |
                                  bit(Group::units) | bit(Group::arc_distance) | bit(Group::feed_mode);
  Letters const taken = axis_letters | centre_letters | letters_of("RF");
  motion_ = words_.code_or(Group::motion, control_.modes.motion);
  if ((words_.groups & ~moves) != 0 || words_.m_groups != 0 || words_.any(~taken) || words_.cancels_cycle)
    return refuse_it();
  bool const probes = motion_ >= 382 && motion_ <= 385;
  bool const plain_probe = !words_.any(~(linear_letters | letter_bit('F'))) &&
                           control_.side == motion::Side::off && words_.any(linear_letters);
  if (probes ? !plain_probe : motion_ > 30) return refuse_it();
  comments();
  set_modes();
  if (!set_feed()) {
    queue_.drop();
    lose_axes();
    return false;
  }
  control_.modes.motion = static_cast<std::int16_t>(motion_);
  control_.motion_in_doubt = false;
  if (probes) written_ = Written::probe_results;
  queue_.push(motion::Carried{report.text(words_.whole()), true});
  forget_position();
  return true;
}

} // namespace restep::interpret
