#include "interpret/block_words.hpp"

#include <fmt/format.h>

namespace restep::interpret {
namespace {

constexpr std::int64_t tenth = grammar::Decimal::one / 10;
constexpr std::int64_t integer_slack = grammar::Decimal::one / 10000;

/// The multiple of `unit` next to a value, and whether the value is within `slack` of it.
bool near_multiple(std::int64_t scaled, std::int64_t unit, std::int64_t slack, std::int64_t& multiple) {
  multiple = scaled / unit;
  std::int64_t const rest = scaled - multiple * unit;
  if (rest == 0) return true;
  if (rest >= unit - slack) {
    ++multiple;
    return true;
  }
  if (rest <= slack - unit) {
    --multiple;
    return true;
  }
  return rest <= slack && rest >= -slack;
}

constexpr int max_m_codes = 4;

std::string message_of(Refusal const& refusal, std::string_view written) {
  return refusal.what.empty() ? fmt::format("{} is not a known code: {}", written, refusal.why)
                              : fmt::format("not understood yet: {}; {}", refusal.what, refusal.why);
}

} // namespace

bool whole_number(grammar::Decimal const& value, std::int64_t& number) {
  return near_multiple(value.scaled, grammar::Decimal::one, integer_slack, number);
}

bool BlockWords::sort_g(std::size_t index, CodeTable const& codes, bool strict, BlockReport const& report) {
  auto const& word = block->words[index];
  std::int64_t tenths = 0;
  if (!near_multiple(word.value.scaled, tenth, integer_slack / 10, tenths)) tenths = -1;
  Group const group = codes.g(tenths);
  auto const bit = std::uint32_t{1} << static_cast<unsigned>(group);
  auto const slot = static_cast<std::size_t>(group);

  if (group == Group::unknown) {
    Refusal const refusal = refusal_of_g(tenths);
    return report.refuse(refusal.code, message_of(refusal, report.text(word.span)), refusal.hint, word.span);
  }
  if (strict && !is_in_standard(group, static_cast<int>(tenths)))
    return report.refuse("not-in-standard", fmt::format("RS274/NGC has no {}", report.text(word.span)),
                         "post the program again without it", word.span);
  if (group == Group::idle) {
    groups |= bit;
    return true;
  }
  if (group == Group::carried) {
    groups |= bit;
    if (carried == static_cast<int>(carried_index.size()))
      return report.refuse("too-many-carried-codes", "more carried codes than one block may hold",
                           "put them on lines of their own", word.span);
    carried_index[static_cast<std::size_t>(carried++)] = static_cast<std::uint8_t>(index);
    return true;
  }
  if (group == Group::frame && (!(groups & bit) || cancels_frame != 0))
    cancels_frame |= static_cast<std::uint8_t>(tenths == 500 ? 1 : tenths == 501 ? 2 : tenths == 690 ? 4 : 0);
  bool const another_cancel =
      group == Group::frame && cancels_frame != 0 && (tenths == 500 || tenths == 501 || tenths == 690);
  if (groups & bit && !another_cancel) {
    bool const cancel_and_move = group == Group::motion && !strict &&
                                 (tenths == 800 || code_of[slot] == 800) && tenths != code_of[slot] &&
                                 tenths <= 800 && code_of[slot] <= 800 &&
                                 !is_cycle(static_cast<int>(tenths)) && !is_cycle(code_of[slot]);
    if (cancel_and_move && !cancels_cycle) {
      cancels_cycle = true;
      if (tenths == 800) return true;
    } else {
      return report.refuse("modal-group-conflict",
                           fmt::format("{} and {} are both {}: a block takes one of them",
                                       report.text(code_word(group).span), report.text(word.span),
                                       name_of(group)),
                           "put one of them on a line of its own", word.span);
    }
  }
  groups |= bit;
  code_of[slot] = static_cast<std::int16_t>(tenths);
  code_index[slot] = static_cast<std::uint8_t>(index);
  return true;
}

bool BlockWords::sort_m(std::size_t index, CodeTable const& codes, BlockReport const& report) {
  auto const& word = block->words[index];
  std::int64_t code = 0;
  if (!whole_number(word.value, code)) code = -1;
  MGroup const group = codes.m(code);
  auto const bit = std::uint32_t{1} << static_cast<unsigned>(group);
  auto const slot = static_cast<std::size_t>(group);

  if (group == MGroup::unknown) {
    Refusal const refusal = refusal_of_m(code);
    return report.refuse(refusal.code, message_of(refusal, report.text(word.span)), refusal.hint, word.span);
  }
  if (group == MGroup::carried) {
    if (carried == static_cast<int>(carried_index.size()))
      return report.refuse("too-many-carried-codes", "more carried codes than one block may hold",
                           "put them on lines of their own", word.span);
    carried_index[static_cast<std::size_t>(carried++)] = static_cast<std::uint8_t>(index);
  } else if (m_groups & bit) {
    return report.refuse("modal-group-conflict",
                         fmt::format("{} and {} are both {}: a block takes one of them",
                                     report.text(code_word(group).span), report.text(word.span),
                                     name_of(group)),
                         "put one of them on a line of its own", word.span);
  } else {
    m_code_of[slot] = static_cast<std::int16_t>(code);
    m_code_index[slot] = static_cast<std::uint8_t>(index);
  }
  m_groups |= bit;
  return true;
}

bool BlockWords::sort(grammar::WordBlock const& from, CodeTable const& codes, bool strict,
                      BlockReport const& report) {
  block = &from;
  letters = groups = m_groups = 0;
  carried = 0;
  cancels_cycle = false;
  cancels_frame = 0;
  int m_codes = 0;
  for (std::size_t index = 0; index < from.size; ++index) {
    auto const& word = from.words[index];
    if (word.letter == 'G') {
      if (!sort_g(index, codes, strict, report)) return false;
    } else if (word.letter == 'M' && !calls_macro()) {
      if (++m_codes > max_m_codes)
        return report.refuse("too-many-m-codes",
                             fmt::format("more than {} M codes in one block", max_m_codes),
                             "put some of them on a line of their own", word.span);
      if (!sort_m(index, codes, report)) return false;
    } else {
      Letters const bit = letter_bit(word.letter);
      if (strict && bit & letters_of("EUVW"))
        return report.refuse("not-in-standard", fmt::format("RS274/NGC has no {} word", word.letter),
                             "post the program again without it", word.span);
      bool const may_repeat = calls_macro() && word.letter >= 'I' && word.letter <= 'K';
      if (letters & bit && !may_repeat)
        return report.refuse("repeated-word",
                             fmt::format("the letter {} stands twice in one block", word.letter),
                             "leave one of the two words out", word.span);
      letters |= bit;
      word_index[static_cast<std::size_t>(word.letter - 'A')] = static_cast<std::uint8_t>(index);
    }
  }
  return true;
}

} // namespace restep::interpret
