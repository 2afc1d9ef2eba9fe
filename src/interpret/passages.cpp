#include "interpret/passages.hpp"

namespace restep::interpret {

void PassageFinder::join(text::Place first, text::Place last, bool flow) {
  Passage joined{first, last, flow};
  // Execution stands in the last passage or behind it: what a jump back meets are always the last ones.
  while (!found_.empty() && found_.back().last.line >= joined.first.line) {
    Passage const& other = found_.back();
    if (other.first.line < joined.first.line) joined.first = other.first;
    if (other.last.line > joined.last.line) joined.last = other.last;
    joined.flow = joined.flow || other.flow;
    joined.sets = joined.sets || other.sets;
    found_.pop_back();
  }
  found_.push_back(joined);
}

void PassageFinder::note_setting(std::uint32_t line) {
  if (!found_.empty() && line >= found_.back().first.line && line <= found_.back().last.line)
    found_.back().sets = true;
}

} // namespace restep::interpret
