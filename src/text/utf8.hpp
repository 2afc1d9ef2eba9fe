#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace restep::text {

/// True for a byte that continues a UTF-8 character.
constexpr bool is_utf8_continuation(char byte) {
  return (static_cast<unsigned char>(byte) & 0xC0u) == 0x80u;
}

/// Length of the well-formed UTF-8 character at the start of `text` (RFC 3629: no surrogates, no overlong
/// forms), or 0. `code_point` is set when it is not 0.
std::size_t utf8_character(std::string_view text, char32_t& code_point);

/// Appends the first character of `text` as a terminal may show it and returns how many bytes it took.
std::size_t append_printable(std::string& out, std::string_view text);

/// Screen columns of text that append_printable made: one for each character.
std::size_t columns(std::string_view printable_text);

} // namespace restep::text
