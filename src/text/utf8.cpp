#include "text/utf8.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

namespace restep::text {

std::size_t utf8_character(std::string_view text, char32_t& code_point) {
  if (text.empty()) return 0;
  auto const lead = static_cast<unsigned char>(text[0]);
  std::size_t const length = lead < 0x80   ? 1
                             : lead < 0xC2 ? 0
                             : lead < 0xE0 ? 2
                             : lead < 0xF0 ? 3
                             : lead < 0xF5 ? 4
                                           : 0;
  if (length == 0 || text.size() < length) return 0;
  char32_t value = length == 1 ? lead : lead & (0x7Fu >> length);
  for (std::size_t i = 1; i < length; ++i) {
    if (!is_utf8_continuation(text[i])) return 0;
    value = value << 6 | (static_cast<unsigned char>(text[i]) & 0x3Fu);
  }
  bool const overlong = (length == 3 && value < 0x800) || (length == 4 && value < 0x10000);
  bool const surrogate = value >= 0xD800 && value <= 0xDFFF;
  if (overlong || surrogate || value > 0x10FFFF) return 0;
  code_point = value;
  return length;
}

std::size_t append_printable(std::string& out, std::string_view text) {
  auto to = std::back_inserter(out);
  char32_t c = 0;
  std::size_t const length = utf8_character(text, c);
  if (length == 0) {
    fmt::format_to(to, "\\x{:02X}", static_cast<unsigned char>(text[0]));
    return 1;
  }
  // Marks that hide themselves or turn the writing direction would let a line look other than it is.
  bool const turns = (c >= 0x200B && c <= 0x200F) || (c >= 0x2028 && c <= 0x202E) ||
                     (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF || c == 0x061C;
  if (c == '\t')
    out += ' ';
  else if (c < 0x20 || c == 0x7F)
    fmt::format_to(to, "\\x{:02X}", static_cast<unsigned>(c));
  else if (turns || (c >= 0x80 && c < 0xA0))
    fmt::format_to(to, "\\u{:04X}", static_cast<unsigned>(c));
  else
    out += text.substr(0, length);
  return length;
}

std::size_t columns(std::string_view printable_text) {
  return static_cast<std::size_t>(std::count_if(printable_text.begin(), printable_text.end(),
                                                [](char byte) { return !is_utf8_continuation(byte); }));
}

} // namespace restep::text
