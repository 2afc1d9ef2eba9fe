// Reads stretches of plain cuts: the lane beside the one that reads a program block by block. It gives what
// that one would give, or leaves the blocks to it.

#include "interpret/reader.hpp"
#include "interpret/reader_implementation.hpp"

namespace restep::interpret {

/// Nothing is waiting, and no block of plain cuts would be more than that.
bool ProgramReader::Implementation::may_stretch() const {
  if (queue.waiting() || flow || finished || displaced_from || layout.after_end() || lines.line() == 0)
    return false;
  if (known != nullptr && at_passage < known->size()) {
    bool const far = (*known)[at_passage].first.line > lines.line() + motion::Stretch::longest;
    if (in_passage != 0 || !far) return false;
  }
  return executor.cuts_plainly();
}

bool ProgramReader::Implementation::read_stretch(motion::Stretch& stretch) {
  static_assert(grammar::CutLines::most == motion::Stretch::longest);
  constexpr std::uint64_t most_bytes = 64 * grammar::CutLines::most; // longer lines only shorten the stretch
  std::string_view const text = lines.ahead(most_bytes);
  grammar::CutRules const cut_rules = executor.begin_cuts(cut_lines);
  std::size_t bytes = grammar::parse_cuts(text, cut_rules, cut_lines);
  if (cut_lines.size == 0) return false;
  motion::Motion const like = executor.plain_cut();
  motion::StretchColumns& columns = stretches.next();
  std::size_t const size = executor.take_cuts(cut_lines, columns);
  if (size == 0) return false;
  if (size < cut_lines.size) bytes = cut_lines.lines[size].begin;

  std::uint64_t const begin = lines.offset();
  std::uint32_t const first_line = lines.line() + 1;
  for (std::size_t i = 0; i < size; ++i) {
    text::Span const span = cut_lines.lines[i];
    columns.places[i] = {begin + span.begin, span.end - span.begin,
                         first_line + static_cast<std::uint32_t>(i)};
  }
  lines.skip(bytes, static_cast<std::uint32_t>(size));
  line.place = columns.places[size - 1];
  line.text = text.substr(line.place.offset - begin, line.place.length);
  layout.meet_block();
  words_since = true;
  columns.renew(size);
  stretch = {&columns, 0, size, like, executor.control().modes, cut_lines.names_feed};
  return true;
}

bool ProgramReader::next_stretch(motion::Stretch& stretch) {
  return implementation_->may_stretch() && implementation_->read_stretch(stretch);
}

} // namespace restep::interpret
