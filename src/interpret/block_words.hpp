#pragma once

#include "grammar/words.hpp"
#include "interpret/codes.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <array>
#include <bit>
#include <cstdint>
#include <string>

namespace restep::interpret {

/// A set of word letters, one bit each.
using Letters = std::uint32_t;
constexpr Letters letter_bit(char letter) {
  return Letters{1} << (letter - 'A');
}
constexpr Letters letters_of(char const* letters) {
  Letters set = 0;
  for (; *letters; ++letters)
    set |= letter_bit(*letters);
  return set;
}
inline constexpr Letters linear_letters = letters_of("XYZ");
inline constexpr Letters rotary_letters = letters_of("ABCUVW");
inline constexpr Letters axis_letters = linear_letters | rotary_letters;
inline constexpr Letters centre_letters = letters_of("IJK");

/// Tells the user about the block in work.
class BlockReport {
public:
  BlockReport(text::Findings& findings, text::Line const& line)
      : findings_(findings)
      , line_(line) {}

  /// An error at a stretch of the line. Always false, so that a step can end with `return refuse(...)`.
  bool refuse(std::string_view code, std::string message, std::string_view hint, text::Span span) const {
    findings_.add(text::Severity::error, std::string(code), std::move(message), std::string(hint),
                  line_.place, line_.text, span);
    return false;
  }
  std::string_view text() const { return line_.text; }
  std::string_view text(text::Span span) const {
    return line_.text.substr(span.begin, span.end - span.begin);
  }

private:
  text::Findings& findings_;
  text::Line const& line_;
};

/// The words of a block, sorted: at most one per letter, at most one code per modal group.
struct BlockWords {
  grammar::WordBlock const* block = nullptr;
  Letters letters = 0; ///< all but G, M and N
  std::uint32_t groups = 0;
  std::uint32_t m_groups = 0;
  int carried = 0;                ///< how many carried codes there are
  bool cancels_cycle = false;     ///< G80 beside another motion code
  std::uint8_t cancels_frame = 0; ///< 1 G50, 2 G50.1, 4 G69: a block may have all of them

  std::array<std::uint8_t, 26> word_index;
  std::array<std::int16_t, group_count> code_of; ///< tenths
  std::array<std::uint8_t, group_count> code_index;
  std::array<std::int16_t, m_group_count> m_code_of;
  std::array<std::uint8_t, m_group_count> m_code_index;
  std::array<std::uint8_t, 8> carried_index;

  bool has(char letter) const { return letters & letter_bit(letter); }
  bool any(Letters set) const { return letters & set; }
  grammar::Word const& word(char letter) const {
    return block->words[word_index[static_cast<std::size_t>(letter - 'A')]];
  }
  bool has(Group group) const { return groups >> static_cast<unsigned>(group) & 1U; }
  int code(Group group) const { return code_of[static_cast<std::size_t>(group)]; }
  grammar::Word const& code_word(Group group) const {
    return block->words[code_index[static_cast<std::size_t>(group)]];
  }
  bool has(MGroup group) const { return m_groups >> static_cast<unsigned>(group) & 1U; }
  int code(MGroup group) const { return m_code_of[static_cast<std::size_t>(group)]; }
  grammar::Word const& code_word(MGroup group) const {
    return block->words[m_code_index[static_cast<std::size_t>(group)]];
  }
  /// G65: the words behind it are values for the subprogram, M too.
  bool calls_macro() const { return has(Group::non_modal) && code(Group::non_modal) == 650; }
  /// The code of a group that has one, else `otherwise`.
  int code_or(Group group, int otherwise) const { return has(group) ? code(group) : otherwise; }

  /// The first of a set of letters that the block has; there must be one.
  grammar::Word const& first_of(Letters set) const {
    return word(static_cast<char>('A' + std::countr_zero(letters & set)));
  }
  text::Span whole() const { return {block->words[0].span.begin, block->words[block->size - 1].span.end}; }

  /// Sorts the words of a block; refuses unknown codes, repeated letters and two codes of one group
  /// (NISTIR 6556, 3.3.5). With `strict` what the standard does not have is refused as well:
  /// codes, letters, G80 beside G0 to G3.
  bool sort(grammar::WordBlock const& from, CodeTable const& codes, bool strict, BlockReport const& report);

private:
  bool sort_g(std::size_t index, CodeTable const& codes, bool strict, BlockReport const& report);
  bool sort_m(std::size_t index, CodeTable const& codes, BlockReport const& report);
};

/// The value as a whole number when it is within 0.0001 of one (NISTIR 6556, 3.3.2.1).
bool whole_number(grammar::Decimal const& value, std::int64_t& number);

} // namespace restep::interpret
