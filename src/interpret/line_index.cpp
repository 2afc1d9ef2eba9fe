#include "interpret/line_index.hpp"

#include "grammar/parse.hpp"
#include "interpret/block_words.hpp"

#include <algorithm>

namespace restep::interpret {
namespace {

namespace ast = grammar::ast;

constexpr std::uint64_t piece_size = std::uint64_t{1} << 20;

char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}
bool is_blank(char c) {
  return c == ' ' || c == '\t';
}
bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

std::optional<std::int64_t> whole_literal(ast::Operand const& operand) {
  auto const* const number = boost::get<ast::Number>(&operand.get());
  std::int64_t value = 0;
  if (number == nullptr || !number->fits || !whole_number(number->decimal, value)) return std::nullopt;
  return value;
}

} // namespace

std::string plain_label(ast::Operand const& label) {
  if (auto const* const named = boost::get<ast::NamedParameter>(&label.get())) return named->name;
  auto const number = whole_literal(label);
  return number ? std::to_string(*number) : std::string();
}

std::optional<LineIndex> LineIndex::build(text::Input const& input) {
  LineIndex index;
  std::string piece; // from `offset`; what is left of the piece before stands at its front
  std::uint64_t offset = 0;
  std::uint64_t read = 0;
  while (read < input.size()) {
    auto const wanted = static_cast<std::uint32_t>(std::min(piece_size, input.size() - read));
    std::string const more = input.text_of({read, wanted, 0});
    if (more.size() != wanted) return std::nullopt;
    piece += more;
    read += wanted;
    if (offset == 0 && piece.starts_with("\xEF\xBB\xBF")) {
      piece.erase(0, 3);
      offset = 3;
    }
    // A CR at the very end may be half of a CRLF.
    std::size_t cut = piece.size();
    if (read != input.size()) {
      std::size_t const end = piece.find_last_of("\r\n", piece.size() - 2);
      if (end == std::string::npos) continue;
      cut = end + (piece[end] == '\r' && piece[end + 1] == '\n' ? 2 : 1);
    }
    index.cut_lines(std::string_view(piece).substr(0, cut), offset);
    piece.erase(0, cut);
    offset += cut;
  }
  std::sort(index.numbers_.begin(), index.numbers_.end());
  return index;
}

void LineIndex::cut_lines(std::string_view piece, std::uint64_t offset) {
  std::size_t at = 0;
  while (at < piece.size()) {
    std::size_t const end = std::min(piece.find_first_of("\r\n", at), piece.size());
    lines_.push_back({offset + at, static_cast<std::uint32_t>(end - at)});
    look_at(piece.substr(at, end - at), size());
    at = end + (piece.substr(end).starts_with("\r\n") ? 2 : 1);
  }
}

/// Most lines are told apart by their letters: only one with a program number, an O word or a loop is parsed.
void LineIndex::look_at(std::string_view text, std::uint32_t line) {
  std::size_t at = 0;
  auto const skip_blanks = [&] {
    while (at < text.size() && is_blank(text[at]))
      ++at;
  };
  skip_blanks();
  if (at < text.size() && text[at] == '/') {
    ++at;
    if (at < text.size() && text[at] >= '1' && text[at] <= '9') ++at;
    skip_blanks();
  }
  if (at < text.size() && upper(text[at]) == 'N') {
    constexpr std::int64_t largest = 999'999'999'999;
    std::int64_t number = 0;
    for (++at; at < text.size() && (is_digit(text[at]) || is_blank(text[at])); ++at)
      if (is_digit(text[at]) && number < largest) number = 10 * number + (text[at] - '0');
    numbers_.emplace_back(number, line);
  }
  for (std::size_t i = at; i < text.size() && text[i] != ';'; ++i) {
    char const c = upper(text[i]);
    if (c == 'O' || c == ':' || (c == 'E' && i + 2 < text.size())) {
      look_closely(text, line);
      return;
    }
    if (c == '(') i = std::min(text.find(')', i), text.size() - 1);
  }
}

void LineIndex::look_closely(std::string_view text, std::uint32_t line) {
  auto const block = grammar::parse_block(text);
  if (!block) {
    std::string letters;
    for (char const c : text)
      if (!is_blank(c)) letters += upper(c);
    if (letters.find("ELSEIF") != std::string::npos) unreadable_branches_.push_back(line);
    return;
  }
  for (ast::Item const& item : block->items) {
    if (auto const* const word = boost::get<ast::Word>(&item.get())) {
      auto const number = word->letter == 'O' ? whole_literal(word->value) : std::nullopt;
      if (number) programs_.push_back({*number, line});
    } else if (auto const* const label = boost::get<ast::OWord>(&item.get())) {
      auto name = plain_label(label->label);
      if (!name.empty()) labels_[name].push_back({name, label->keyword, line});
    } else if (auto const* const loop = boost::get<ast::Loop>(&item.get())) {
      if (auto const number = whole_literal(loop->number))
        loops_.push_back({*number, loop->part == ast::LoopPart::begin, line});
    } else if (auto const* const loop_while = boost::get<ast::While>(&item.get())) {
      if (auto const number = whole_literal(loop_while->number)) loops_.push_back({*number, true, line});
    }
  }
}

std::vector<LineIndex::Label> const& LineIndex::labels(std::string const& name) const {
  static std::vector<Label> const none;
  auto const found = labels_.find(name);
  return found == labels_.end() ? none : found->second;
}

std::vector<std::uint32_t> LineIndex::numbered(std::int64_t number, Section section) const {
  std::vector<std::uint32_t> found;
  auto at = std::lower_bound(numbers_.begin(), numbers_.end(), std::pair{number, section.first});
  for (; at != numbers_.end() && at->first == number && at->second <= section.last; ++at)
    found.push_back(at->second);
  return found;
}

LineIndex::Section LineIndex::section_of(std::uint32_t line) const {
  Section section{1, size()};
  for (Program const& program : programs_) {
    if (program.line <= line) section.first = program.line;
    if (program.line > line) {
      section.last = program.line - 1;
      break;
    }
  }
  return section;
}

} // namespace restep::interpret
