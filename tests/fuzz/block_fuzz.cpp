// Any bytes at all as one block: what the hot tier takes the full grammar takes too and reads the same words
// in it, and a refusal points into the line or right behind it.
#include "grammar/parse.hpp"
#include "scratch_file.hpp"

#include <string_view>
#include <vector>

using namespace restep;
using fuzz::require;

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  std::string_view const all(reinterpret_cast<char const*>(data), size);
  std::string_view const line = all.substr(0, all.find('\n'));
  static grammar::WordBlock plain;
  bool const taken = grammar::parse_plain(line, plain);
  auto const block = grammar::parse_block(line);
  if (!block) {
    require(!taken && !block.error().message.empty());
    auto const [begin, end] = block.error().span; // what is missing is missing behind the last character
    require(begin <= line.size() && begin <= end && end <= line.size() + 1);
    return 0;
  }
  if (!taken) return 0;
  require(plain.deleted == block->deleted && plain.has_number == block->number.has_value());
  std::size_t at = 0, remarks = 0;
  for (grammar::ast::Item const& item : block->items) {
    if (auto const* const comment = boost::get<grammar::ast::Comment>(&item.get())) {
      require(remarks < plain.comments.size());
      grammar::CommentText const& other = plain.comments[remarks++];
      require(other.style == comment->style && other.span == comment->span);
      require(other.text == line.substr(comment->text.begin, comment->text.end - comment->text.begin));
    }
    auto const* const word = boost::get<grammar::ast::Word>(&item.get());
    if (word == nullptr) continue;
    require(at < plain.size);
    grammar::Word const& other = plain.words[at++];
    auto const* const number = boost::get<grammar::ast::Number>(&word->value.get());
    require(number != nullptr && other.letter == word->letter && other.value == number->decimal);
  }
  require(at == plain.size && remarks == plain.comments.size());
  require((plain.kind == grammar::LineKind::blank) == (block->kind == grammar::LineKind::blank));
  return 0;
}
