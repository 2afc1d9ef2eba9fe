#pragma once

#include "grammar/ast.hpp"
#include "text/input.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

namespace restep::interpret {

/// Where the lines of a program are, and which of them jumps, loops and calls may lead to. Built only for a
/// program that has such words: one reading of the text ahead of its execution. Memory: sixteen bytes a line.
class LineIndex {
public:
  /// A program number (O100) at the head of a program or subprogram.
  struct Program {
    std::int64_t number = 0;
    std::uint32_t line = 0;
  };
  /// DO or WHILE ... DO (`begins`), or END, with its number.
  struct Loop {
    std::int64_t number = 0;
    bool begins = false;
    std::uint32_t line = 0;
  };
  /// A line with an O word, whose label is a number or a name.
  struct Label {
    std::string name;
    grammar::ast::OKeyword keyword = grammar::ast::OKeyword::sub;
    std::uint32_t line = 0;
  };
  /// The lines of one program of the file, both ends included.
  struct Section {
    std::uint32_t first = 1;
    std::uint32_t last = 1;
  };

  /// Nothing when the beginning of the input cannot be read again (a pipe).
  static std::optional<LineIndex> build(text::Input const& input);

  /// The last line's number; lines count from 1.
  std::uint32_t size() const { return static_cast<std::uint32_t>(lines_.size()); }
  text::Place place(std::uint32_t line) const {
    return {lines_[line - 1].offset, lines_[line - 1].length, line};
  }

  std::vector<Program> const& programs() const { return programs_; }
  std::vector<Loop> const& loops() const { return loops_; }
  /// Lines that seem to hold an ELSEIF and cannot be read, in order: whose it is, is not known.
  std::vector<std::uint32_t> const& unreadable_branches() const { return unreadable_branches_; }
  /// All lines with this label, in order.
  std::vector<Label> const& labels(std::string const& name) const;
  /// The lines with this line number (N) in a section, in order.
  std::vector<std::uint32_t> numbered(std::int64_t number, Section section) const;
  /// From the program number at or before a line to the line before the next one.
  Section section_of(std::uint32_t line) const;

private:
  struct Entry {
    std::uint64_t offset = 0;
    std::uint32_t length = 0;
  };
  std::vector<Entry> lines_;
  std::vector<Program> programs_;
  std::vector<Loop> loops_;
  std::vector<std::uint32_t> unreadable_branches_;
  std::unordered_map<std::string, std::vector<Label>> labels_;
  std::vector<std::pair<std::int64_t, std::uint32_t>> numbers_; ///< sorted

  void cut_lines(std::string_view piece, std::uint64_t offset);
  void look_at(std::string_view text, std::uint32_t line);
  void look_closely(std::string_view text, std::uint32_t line);
};

/// The label of an O word that does not hang on values: its name, or its number as text; else empty.
std::string plain_label(grammar::ast::Operand const& label);

} // namespace restep::interpret
