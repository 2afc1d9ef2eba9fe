// G4, and the dwell at the bottom of a hole.
#include "interpret/execute.hpp"

#include <fmt/format.h>

namespace restep::interpret {

using grammar::Word;

bool Executor::dwell() {
  if (!words_.has(Group::non_modal) || words_.code(Group::non_modal) != 40) return true;
  double time = 0;
  if (axis_user_ == AxisUser::dwell) {
    Word const& word = words_.first_of(letters_of("XU"));
    bool const counts = rules_.count_without_point && !word.value.point;
    time = word.value.value() * (counts ? 0.001 : 1);
    if (time < 0)
      return refuse("negative-dwell", fmt::format("the dwell time {} is negative", text(word)),
                    "give a time from 0 up", word.span);
  } else if (!words_.has('P')) {
    return refuse("dwell-without-time", "G4 without a time", "write the time as P",
                  words_.code_word(Group::non_modal).span);
  } else if (!seconds(words_.word('P'), time)) {
    return false;
  }
  queue_.push(motion::Dwell{time});
  return true;
}

/// Says once that a dwell looks as if it was written for the other unit.
void Executor::doubt_dwell(Word const& word, double seconds) {
  // Common practice: nobody waits minutes at the bottom of a hole, and no control counts parts of
  // milliseconds.
  constexpr double too_long = 100;
  constexpr double too_short = 0.01;
  bool const as_milliseconds = !rules_.dwell_in_milliseconds && seconds >= too_long && !word.value.point;
  bool const as_seconds =
      rules_.dwell_in_milliseconds && seconds > 0 && seconds < too_short && word.value.point;
  if (said_dwell_ || !(as_milliseconds || as_seconds)) return;
  said_dwell_ = true;
  findings_.add(text::Severity::warning, "dwell-unit",
                fmt::format("{} is a dwell of {} s here; a control that counts {} waits {} s", text(word),
                            seconds, as_seconds ? "seconds" : "milliseconds",
                            as_seconds ? seconds * 1000 : seconds / 1000),
                "check the unit: dwell_in_milliseconds of the dialect says which one it is", line_->place,
                line_->text, word.span);
}

bool Executor::seconds(Word const& word, double& result) {
  result = rules_.dwell_in_milliseconds ? word.value.value() / 1000 : word.value.value();
  if (result >= 0) {
    doubt_dwell(word, result);
    return true;
  }
  return refuse("negative-dwell", fmt::format("the dwell time {} is negative", text(word)),
                "give a time from 0 up", word.span);
}

} // namespace restep::interpret
